package android.net;

/** An address of which the last part counts. */
public class Uri {
    private final String last;

    public Uri(String last) {
        this.last = last;
    }

    public String getLastPathSegment() {
        return last;
    }
}
