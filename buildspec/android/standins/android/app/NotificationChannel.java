package android.app;

/** Keeps what it was told. */
public class NotificationChannel {
    public final String id;
    public final CharSequence name;
    public String group;
    public int visibility;

    public NotificationChannel(String id, CharSequence name, int importance) {
        this.id = id;
        this.name = name;
    }

    public void setGroup(String group) {
        this.group = group;
    }

    public void setLockscreenVisibility(int visibility) {
        this.visibility = visibility;
    }
}
