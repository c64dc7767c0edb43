package android.app;

/** Keeps the one alarm that was set last. */
public class AlarmManager {
    public static final int RTC_WAKEUP = 0;
    public Long atMs;
    public PendingIntent pending;

    public void setAndAllowWhileIdle(int type, long atMs, PendingIntent pending) {
        this.atMs = atMs;
        this.pending = pending;
    }

    public void cancel(PendingIntent pending) {
        atMs = null;
    }
}
