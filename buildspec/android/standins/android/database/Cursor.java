package android.database;

/** Needed as a type only. */
public interface Cursor {}
