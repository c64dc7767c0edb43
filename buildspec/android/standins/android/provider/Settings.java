package android.provider;

import android.content.ContentResolver;

/** Knows how often the phone was started, set by a check. */
public final class Settings {
    private Settings() {}

    /** The phone's own settings. */
    public static final class Global {
        public static final String BOOT_COUNT = "boot_count";
        public static int boots = 1;

        private Global() {}

        public static int getInt(ContentResolver resolver, String name, int otherwise) {
            return BOOT_COUNT.equals(name) ? boots : otherwise;
        }
    }
}
