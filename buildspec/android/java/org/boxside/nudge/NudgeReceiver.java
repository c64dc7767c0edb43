package org.boxside.nudge;

import android.content.BroadcastReceiver;
import android.content.Context;
import android.content.Intent;

/** The alarm's time has come, or Later was pressed on a nudge. Reached by our own pending intents only. */
public final class NudgeReceiver extends BroadcastReceiver {
    @Override
    public void onReceive(Context context, Intent intent) {
        String action = intent == null ? null : intent.getAction();
        if (Nudges.ACTION_WAKE.equals(action)) {
            Nudges.sync(context);
        } else if (Nudges.ACTION_LATER.equals(action)) {
            Nudges.later(context, intent.getStringExtra(Nudges.EXTRA_DIGEST));
        }
    }
}
