"""The descriptor and the tables of a Darwin Core Archive: Event as the core, occurrences and measurements beside it.

References
----------
Wieczorek J. et al. 2012, Darwin Core: an evolving community-developed biodiversity data standard, PLoS ONE 7:e29715.
Darwin Core Maintenance Group 2021, Darwin Core text guide, TDWG, http://rs.tdwg.org/dwc/terms/guides/text/ (meta.xml).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import quoteattr

from boxside.core.tables.csv_text import LINE_END, cell, csv_record

TERMS = "http://rs.tdwg.org/dwc/terms/"
DESCRIPTOR = "meta.xml"


@dataclass(frozen=True, slots=True)
class CoreTable:
    """One table of the archive: its file, what a row is, and the terms of its columns; the first is the event's id."""

    file: str
    row_type: str
    terms: tuple[str, ...]


EVENT = CoreTable(
    "event.csv",
    "Event",
    ("eventID", "parentEventID", "eventType", "eventDate", "samplingProtocol", "habitat", "locationID", "fieldNumber"),
)
OCCURRENCE = CoreTable(
    "occurrence.csv",
    "Occurrence",
    (
        "eventID", "occurrenceID", "basisOfRecord", "occurrenceStatus", "scientificName", "kingdom", "phylum", "class",
        "order", "family", "lifeStage", "sex", "individualCount", "organismID", "degreeOfEstablishment", "vitality",
        "occurrenceRemarks",
    ),
)  # fmt: skip
MEASUREMENT = CoreTable(
    "measurementorfact.csv",
    "MeasurementOrFact",
    (
        "eventID", "measurementID", "measurementType", "measurementValue", "measurementAccuracy", "measurementUnit",
        "measurementMethod", "measurementRemarks",
    ),
)  # fmt: skip
CORE_TABLES = (EVENT, OCCURRENCE, MEASUREMENT)


def core_text(table: CoreTable, rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """Yield a table's records, its terms first; a record is one line, since many readers go by lines."""
    yield _line(table.terms)
    for row in rows:
        yield _line(row)


def core_descriptor(tables: Sequence[CoreTable] = CORE_TABLES) -> str:
    """Return the descriptor; the first table is the core, the others extend it through the event's id."""
    parts = [_table(table, "core" if nth == 0 else "extension") for nth, table in enumerate(tables)]
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<archive xmlns="http://rs.tdwg.org/dwc/text/" '
        'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" '
        'xsi:schemaLocation="http://rs.tdwg.org/dwc/text/ http://rs.tdwg.org/dwc/text/tdwg_dwc_text.xsd">\n'
        f"{''.join(parts)}</archive>\n"
    )


def _table(table: CoreTable, tag: str) -> str:
    key = "id" if tag == "core" else "coreid"
    # An extension's first column only points to the core; the core's own is a term as well.
    fields = [(nth, term) for nth, term in enumerate(table.terms) if nth or tag == "core"]
    listed = "".join(f'    <field index="{nth}" term={quoteattr(TERMS + term)}/>\n' for nth, term in fields)
    return (
        f'  <{tag} encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\n" fieldsEnclosedBy="&quot;" '
        f'ignoreHeaderLines="1" rowType={quoteattr(TERMS + table.row_type)}>\n'
        f"    <files><location>{table.file}</location></files>\n"
        f'    <{key} index="0"/>\n{listed}  </{tag}>\n'
    )


def _line(values: Sequence[object]) -> str:
    cells = (" ".join(text.split()) if not text.isalnum() else text for text in map(cell, values))
    return csv_record(cells).removesuffix(LINE_END) + "\n"
