package android.content;

/** Needed as a type only. */
public final class ContentValues {}
