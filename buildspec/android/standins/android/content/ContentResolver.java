package android.content;

/** Needed as a type only. */
public class ContentResolver {}
