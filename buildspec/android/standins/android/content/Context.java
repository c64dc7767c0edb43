package android.content;

import android.app.AlarmManager;
import android.app.NotificationManager;
import android.content.pm.PackageManager;
import android.content.res.Resources;
import java.io.File;

/** An app with its files in one folder of the desktop. */
public class Context {
    public static final String ALARM_SERVICE = "alarm";
    public static final String NOTIFICATION_SERVICE = "notification";
    public final AlarmManager alarms = new AlarmManager();
    public final NotificationManager notifications = new NotificationManager();
    public final Resources resources = new Resources();
    private final File files;

    public Context(File files) {
        this.files = files;
    }

    public Object getSystemService(String name) {
        return ALARM_SERVICE.equals(name) ? alarms : notifications;
    }

    public File getFilesDir() {
        return files;
    }

    public File getCacheDir() {
        return new File(files, "cache");
    }

    public String getPackageName() {
        return "org.boxside.boxside";
    }

    public PackageManager getPackageManager() {
        return new PackageManager();
    }

    public ContentResolver getContentResolver() {
        return new ContentResolver();
    }

    public Resources getResources() {
        return resources;
    }

    public final String getString(int number) {
        return resources.name(number);
    }
}
