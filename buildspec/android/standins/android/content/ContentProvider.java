package android.content;

import android.database.Cursor;
import android.net.Uri;
import android.os.ParcelFileDescriptor;
import java.io.FileNotFoundException;

/** Lends what belongs to the app; the context is set by a check. */
public abstract class ContentProvider {
    public Context context;

    public final Context getContext() {
        return context;
    }

    public abstract boolean onCreate();

    public abstract Cursor query(Uri uri, String[] columns, String where, String[] values, String order);

    public abstract String getType(Uri uri);

    public abstract Uri insert(Uri uri, ContentValues values);

    public abstract int delete(Uri uri, String where, String[] values);

    public abstract int update(Uri uri, ContentValues values, String where, String[] args);

    public ParcelFileDescriptor openFile(Uri uri, String mode) throws FileNotFoundException {
        throw new FileNotFoundException("No files supported by provider");
    }
}
