package android.database;

import java.util.ArrayList;
import java.util.List;

/** Keeps rows. */
public class MatrixCursor implements Cursor {
    public final List<Object[]> rows = new ArrayList<>();

    public MatrixCursor(String[] columns, int capacity) {}

    public void addRow(Object[] row) {
        rows.add(row);
    }
}
