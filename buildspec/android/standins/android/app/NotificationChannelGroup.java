package android.app;

/** A named group of channels. */
public class NotificationChannelGroup {
    public final String id;
    public final CharSequence name;

    public NotificationChannelGroup(String id, CharSequence name) {
        this.id = id;
        this.name = name;
    }
}
