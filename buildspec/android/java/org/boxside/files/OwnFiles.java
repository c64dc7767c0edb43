package org.boxside.files;

import android.content.ContentProvider;
import android.content.ContentValues;
import android.database.Cursor;
import android.database.MatrixCursor;
import android.net.Uri;
import android.os.ParcelFileDescriptor;
import android.provider.OpenableColumns;
import java.io.File;
import java.io.FileNotFoundException;
import java.io.IOException;
import java.util.Locale;

/**
 * Lends single files of cache/lent to other apps: where a camera writes a photo, what the share sheet reads.
 *
 * <p>Not exported; every file is lent through a permission of one intent. Nothing outside the folder is lent.
 */
public final class OwnFiles extends ContentProvider {
    static final String FOLDER = "lent";
    private static final String[] COLUMNS = {OpenableColumns.DISPLAY_NAME, OpenableColumns.SIZE};

    @Override
    public boolean onCreate() {
        return true;
    }

    @Override
    public ParcelFileDescriptor openFile(Uri uri, String mode) throws FileNotFoundException {
        return ParcelFileDescriptor.open(file(uri), ParcelFileDescriptor.parseMode(mode));
    }

    @Override
    public Cursor query(Uri uri, String[] columns, String where, String[] values, String order) {
        String[] asked = columns == null ? COLUMNS : columns;
        Object[] row = new Object[asked.length];
        try {
            File file = file(uri);
            for (int i = 0; i < asked.length; i++) {
                boolean isSize = OpenableColumns.SIZE.equals(asked[i]);
                row[i] = isSize ? (Object) file.length()
                        : OpenableColumns.DISPLAY_NAME.equals(asked[i]) ? file.getName() : null;
            }
        } catch (FileNotFoundException error) {
            return new MatrixCursor(asked, 0);
        }
        MatrixCursor found = new MatrixCursor(asked, 1);
        found.addRow(row);
        return found;
    }

    @Override
    public String getType(Uri uri) {
        String name = String.valueOf(uri.getLastPathSegment()).toLowerCase(Locale.ROOT);
        String[][] types = {{".jpg", "image/jpeg"}, {".png", "image/png"}, {".csv", "text/csv"},
                {".zip", "application/zip"}, {".pdf", "application/pdf"}, {".ics", "text/calendar"},
                {".txt", "text/plain"}, {".json", "application/json"}, {".svg", "image/svg+xml"}};
        for (String[] one : types) {
            if (name.endsWith(one[0])) {
                return one[1];
            }
        }
        return "application/octet-stream";
    }

    @Override
    public Uri insert(Uri uri, ContentValues values) {
        throw new UnsupportedOperationException("files are lent, not taken");
    }

    @Override
    public int delete(Uri uri, String where, String[] values) {
        throw new UnsupportedOperationException("files are lent, not given away");
    }

    @Override
    public int update(Uri uri, ContentValues values, String where, String[] args) {
        throw new UnsupportedOperationException("files are lent, not changed");
    }

    private File file(Uri uri) throws FileNotFoundException {
        try {
            File folder = new File(getContext().getCacheDir(), FOLDER).getCanonicalFile();
            File file = new File(folder, String.valueOf(uri.getLastPathSegment())).getCanonicalFile();
            if (!folder.equals(file.getParentFile())) {
                throw new FileNotFoundException("not in the folder of lent files");
            }
            return file;
        } catch (IOException error) {
            throw new FileNotFoundException(error.getMessage());
        }
    }
}
