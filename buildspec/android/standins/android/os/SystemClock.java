package android.os;

/** Time since the phone was started, set by a check. */
public final class SystemClock {
    public static long upMs;

    private SystemClock() {}

    public static long elapsedRealtime() {
        return upMs;
    }
}
