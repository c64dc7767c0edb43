package android.service.notification;

/** Knows under which number it shows. */
public class StatusBarNotification {
    private final int id;

    public StatusBarNotification(int id) {
        this.id = id;
    }

    public int getId() {
        return id;
    }
}
