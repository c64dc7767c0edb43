package org.boxside.nudge;

import android.content.BroadcastReceiver;
import android.content.Context;
import android.content.Intent;

/** The phone was started, Boxside updated, or clock or zone changed: alarms are gone or wrong. */
public final class SystemReceiver extends BroadcastReceiver {
    @Override
    public void onReceive(Context context, Intent intent) {
        String action = intent == null ? null : intent.getAction();
        if (Intent.ACTION_BOOT_COMPLETED.equals(action)
                || Intent.ACTION_MY_PACKAGE_REPLACED.equals(action)
                || Intent.ACTION_TIME_CHANGED.equals(action)
                || Intent.ACTION_TIMEZONE_CHANGED.equals(action)) {
            Nudges.sync(context);
        }
    }
}
