package android.content.res;

import java.util.ArrayList;
import java.util.List;

/** Numbers names; has those that res/ of the build has, given by a check. */
public class Resources {
    public final List<String> known = new ArrayList<>();

    public int getIdentifier(String name, String kind, String app) {
        return known.indexOf(kind + "/" + name) + 1;
    }

    public String name(int number) {
        if (number == 0) {
            throw new IllegalArgumentException("Resources$NotFoundException");
        }
        return known.get(number - 1);
    }
}
