"""Values as rows, rows as RFC 4180 text, and the Data Package descriptor that says what they mean."""

from boxside.core.tables.chart_svg import chart_svg
from boxside.core.tables.csv_text import cell, csv_line
from boxside.core.tables.descriptor import FileNote, descriptor, dictionary_rows, kind_rows, package_readme
from boxside.core.tables.labels_pdf import BoxLabel, labels_pdf
from boxside.core.tables.sheet_pdf import SheetLine, sheet_pdf, text_width_pt, wrapped

__all__ = [
    "BoxLabel",
    "FileNote",
    "SheetLine",
    "cell",
    "chart_svg",
    "csv_line",
    "descriptor",
    "dictionary_rows",
    "kind_rows",
    "labels_pdf",
    "package_readme",
    "sheet_pdf",
    "text_width_pt",
    "wrapped",
]
