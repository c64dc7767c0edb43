package android.os;

import java.io.File;

/** Keeps which file was opened, and how. */
public class ParcelFileDescriptor {
    public final File file;
    public final int mode;

    private ParcelFileDescriptor(File file, int mode) {
        this.file = file;
        this.mode = mode;
    }

    public static ParcelFileDescriptor open(File file, int mode) {
        return new ParcelFileDescriptor(file, mode);
    }

    public static int parseMode(String mode) {
        return mode.contains("w") ? 2 : 1;
    }
}
