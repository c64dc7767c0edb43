"""Values as rows, rows as RFC 4180 text, and the Data Package descriptor that says what they mean."""

from boxside.core.tables.chart_svg import chart_svg
from boxside.core.tables.csv_text import cell, csv_line, csv_text, original_text, writable_text
from boxside.core.tables.darwin_core import CORE_TABLES, EVENT, MEASUREMENT, OCCURRENCE, core_descriptor, core_text
from boxside.core.tables.descriptor import FileNote, descriptor, dictionary_rows, kind_rows, package_readme
from boxside.core.tables.event_table import EventCells, Form, event_cells, form_of, numbered_events
from boxside.core.tables.labels_pdf import BoxLabel, labels_pdf
from boxside.core.tables.notebook import (
    ROLES,
    column_roles,
    kinds_of_words,
    notebook_decimal,
    notebook_lines,
    notebook_separator,
    number_of,
)
from boxside.core.tables.report_html import Report, ReportTable, report_html
from boxside.core.tables.sheet_pdf import SheetLine, sheet_pdf, text_width_pt, wrapped
from boxside.core.tables.spreadsheet import SEPARATORS, machine_cell, machine_text, spreadsheet_cell, spreadsheet_text

__all__ = [
    "CORE_TABLES",
    "EVENT",
    "MEASUREMENT",
    "OCCURRENCE",
    "ROLES",
    "SEPARATORS",
    "BoxLabel",
    "EventCells",
    "FileNote",
    "Form",
    "Report",
    "ReportTable",
    "SheetLine",
    "cell",
    "chart_svg",
    "column_roles",
    "core_descriptor",
    "core_text",
    "csv_line",
    "csv_text",
    "descriptor",
    "dictionary_rows",
    "event_cells",
    "form_of",
    "kind_rows",
    "kinds_of_words",
    "labels_pdf",
    "machine_cell",
    "machine_text",
    "notebook_decimal",
    "notebook_lines",
    "notebook_separator",
    "number_of",
    "numbered_events",
    "original_text",
    "package_readme",
    "report_html",
    "sheet_pdf",
    "spreadsheet_cell",
    "spreadsheet_text",
    "text_width_pt",
    "wrapped",
    "writable_text",
]
