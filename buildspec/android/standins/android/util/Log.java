package android.util;

import java.util.ArrayList;
import java.util.List;

/** Keeps what was said. */
public final class Log {
    public static final List<String> SAID = new ArrayList<>();

    private Log() {}

    public static int w(String tag, String text) {
        SAID.add(text);
        return 0;
    }
}
