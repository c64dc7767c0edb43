package android.content.pm;

import android.content.Intent;

/** Knows how the app is started. */
public class PackageManager {
    public Intent getLaunchIntentForPackage(String name) {
        return new Intent().setAction("android.intent.action.MAIN");
    }
}
