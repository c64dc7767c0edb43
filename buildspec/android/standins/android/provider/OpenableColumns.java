package android.provider;

/** Names of columns. */
public interface OpenableColumns {
    String DISPLAY_NAME = "_display_name";
    String SIZE = "_size";
}
