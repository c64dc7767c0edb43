package android.app;

import android.content.Context;
import android.content.Intent;

/** Keeps what it was made of. */
public final class PendingIntent {
    public static final int FLAG_UPDATE_CURRENT = 1 << 27;
    public static final int FLAG_IMMUTABLE = 1 << 26;
    public final String kind;
    public final int code;
    public final Intent intent;
    public final int flags;

    private PendingIntent(String kind, int code, Intent intent, int flags) {
        this.kind = kind;
        this.code = code;
        this.intent = intent;
        this.flags = flags;
    }

    public static PendingIntent getBroadcast(Context context, int code, Intent intent, int flags) {
        return new PendingIntent("broadcast", code, intent, flags);
    }

    public static PendingIntent getActivity(Context context, int code, Intent intent, int flags) {
        return new PendingIntent("activity", code, intent, flags);
    }
}
