package android.content;

import java.util.Map;
import java.util.TreeMap;

/** Keeps action, target and extras. */
public class Intent {
    public static final String ACTION_BOOT_COMPLETED = "android.intent.action.BOOT_COMPLETED";
    public static final String ACTION_MY_PACKAGE_REPLACED = "android.intent.action.MY_PACKAGE_REPLACED";
    public static final String ACTION_TIME_CHANGED = "android.intent.action.TIME_SET";
    public static final String ACTION_TIMEZONE_CHANGED = "android.intent.action.TIMEZONE_CHANGED";
    public Class<?> target;
    public final Map<String, String> extras = new TreeMap<>();
    private String action;

    public Intent() {}

    public Intent(Context context, Class<?> target) {
        this.target = target;
    }

    public Intent setAction(String action) {
        this.action = action;
        return this;
    }

    public String getAction() {
        return action;
    }

    public Intent putExtra(String name, String value) {
        extras.put(name, value);
        return this;
    }

    public String getStringExtra(String name) {
        return extras.get(name);
    }
}
