"""A season as one page of HTML: opens offline in any browser, prints on A4, runs nothing, asks for nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from xml.sax.saxutils import escape

from boxside.core.charts import Palette
from boxside.core.tables.chart_svg import inline_svg
from boxside.core.values.season import Section

_CHART_PX = (720.0, 460.0)
_CSS = """
:root { color-scheme: light }
* { box-sizing: border-box }
body { margin: 0 auto; padding: 24px 20px 48px; max-width: 800px; background: #fff; color: #16201a;
  font: 16px/1.45 Inter, "Helvetica Neue", Arial, sans-serif; overflow-wrap: break-word }
h1 { font-size: 30px; line-height: 1.15; margin: 0 0 4px }
h2 { font-size: 21px; margin: 36px 0 8px; padding-top: 12px; border-top: 2px solid #14513a }
.sub { color: #39423b; margin: 0 0 20px }
nav ul { margin: 0; padding-left: 20px; columns: 2 }
a { color: #14513a }
figure { margin: 8px 0 12px; overflow-x: auto }
svg { display: block; width: 100%; min-width: 560px; height: auto }
table { border-collapse: collapse; width: 100%; margin: 8px 0 14px; font-variant-numeric: tabular-nums }
caption { text-align: left; color: #39423b; padding-bottom: 4px }
td { overflow-wrap: anywhere }
th, td { text-align: left; vertical-align: top; padding: 5px 10px 5px 0; border-bottom: 1px solid #ddd8c8 }
thead th { border-bottom: 2px solid #5c5f50 }
tbody th { font-weight: 600; width: 36% }
td.n, th.n { text-align: right; white-space: nowrap }
.notes { color: #39423b; font-size: 14px; padding-left: 18px }
summary { cursor: pointer; padding: 10px 0; color: #14513a }
details table { font-size: 14px }
footer { margin-top: 40px; padding-top: 12px; border-top: 1px solid #ddd8c8; color: #39423b; font-size: 14px }
@page { size: A4; margin: 16mm 15mm }
@media print {
  body { max-width: none; padding: 0; background: none; font-size: 10.5pt }
  h1 { font-size: 20pt } h2 { font-size: 14pt; break-after: avoid; margin-top: 18pt }
  nav, summary, details { display: none }
  a { color: inherit; text-decoration: none }
  figure { overflow: visible }
  svg { width: auto; min-width: 0; max-width: 100%; max-height: 118mm }
  section:has(figure), svg, tr { break-inside: avoid }
  thead { display: table-header-group }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact }
}
"""


@dataclass(frozen=True, slots=True)
class ReportTable:
    """A table of the report: its heading, columns, and rows; `numbers` are the columns set to the right."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int] = frozenset()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Report:
    """What a report says: its title, a line below it, facts as (what, in words), tables, sections, closing lines."""

    title: str
    subtitle: str
    facts: tuple[tuple[str, str], ...]
    tables: tuple[ReportTable, ...]
    sections: tuple[Section, ...]
    closing: tuple[str, ...]


def report_html(report: Report, palette: Palette) -> Iterator[str]:
    """Yield the page part by part.

    Parameters
    ----------
    palette : colours of the plots by paint, such as one of `CHART_PALETTES`

    Notes
    -----
    Everything that a person wrote is escaped and set apart in its direction of writing. The page forbids itself
    scripts, pictures from outside and every connection.
    """
    title = text_html(report.title)
    yield (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="referrer" content="no-referrer">\n'
        f"<title>{_plain(report.title)}</title>\n<style>{_CSS}</style>\n</head>\n<body>\n"
        f'<header><h1>{title}</h1>\n<p class="sub">{text_html(report.subtitle)}</p></header>\n'
    )
    yield _contents(report)
    yield "<main>\n"
    yield f'<section id="glance"><h2>At a glance</h2>\n{_facts(report.facts)}</section>\n'
    for nth, table in enumerate(report.tables):
        note = f'<ul class="notes"><li>{text_html(table.note)}</li></ul>\n' if table.note else ""
        yield f'<section id="table-{nth}"><h2>{text_html(table.title)}</h2>\n{_table(table)}{note}</section>\n'
    for section in report.sections:
        yield _section(section, palette)
    closing = "".join(f"<p>{text_html(line)}</p>\n" for line in report.closing)
    yield f"</main>\n<footer>\n{closing}</footer>\n</body>\n</html>\n"


def text_html(text: str) -> str:
    """Return a text of a person as HTML that cannot be anything else, nor turn what stands around it."""
    return f"<bdi>{_plain(text)}</bdi>"


def _plain(text: str) -> str:
    """HTML has no place for control signs and lone surrogates, whether escaped or not."""
    kept = (
        sign if sign in "\n\t" or (sign >= " " and not "\x7f" <= sign <= "\x9f" and not _is_unfit(sign)) else "\ufffd"
        for sign in text
    )
    return escape("".join(kept), {'"': "&quot;", "'": "&#39;"})


def _is_unfit(sign: str) -> bool:
    return "\ud800" <= sign <= "\udfff" or "\ufdd0" <= sign <= "\ufdef" or ord(sign) & 0xFFFE == 0xFFFE


def _contents(report: Report) -> str:
    places = [("glance", "At a glance"), *((f"table-{n}", table.title) for n, table in enumerate(report.tables))]
    places += [(f"s-{section.key}", section.title) for section in report.sections]
    items = "".join(f'<li><a href="#{_plain(place)}">{text_html(title)}</a></li>\n' for place, title in places)
    return f'<nav aria-label="Contents"><ul>\n{items}</ul></nav>\n'


def _facts(facts: Iterable[tuple[str, str]]) -> str:
    rows = "".join(
        f'<tr><th scope="row">{text_html(what)}</th><td>{text_html(said)}</td></tr>\n' for what, said in facts
    )
    return f"<table><tbody>\n{rows}</tbody></table>\n"


def _section(section: Section, palette: Palette) -> str:
    picture = ""
    if section.chart is not None:
        # Heading and notes stand in the page itself, as text.
        chart = replace(section.chart, title="", notes=())
        picture = f"<figure>{inline_svg(chart, palette, *_CHART_PX, key=section.key, title=section.title)}</figure>\n"
    numbers = _facts(section.numbers) if section.numbers else ""
    said = dict.fromkeys((*section.notes, *(section.chart.notes if section.chart else ())))
    notes = "".join(f"<li>{text_html(note)}</li>\n" for note in said)
    notes = f'<ul class="notes">\n{notes}</ul>\n' if notes else ""
    rows = ""
    if section.rows:
        table = _table(ReportTable(section.title, section.columns, section.rows))
        rows = f"<details><summary>All numbers of this picture</summary>\n{table}</details>\n"
    head = f'<section id="s-{_plain(section.key)}"><h2>{text_html(section.title)}</h2>\n'
    return f"{head}{picture}{numbers}{notes}{rows}</section>\n"


def _table(table: ReportTable) -> str:
    head = _cells(table.columns, table.numbers, "th", ' scope="col"')
    body = "".join(f"<tr>{_cells(row, table.numbers, 'td')}</tr>\n" for row in table.rows)
    return f"<table><thead><tr>{head}</tr></thead>\n<tbody>\n{body}</tbody></table>\n"


def _cells(cells: Sequence[str], numbers: frozenset[int], tag: str, more: str = "") -> str:
    right = ' class="n"'
    return "".join(
        f"<{tag}{more}{right if nth in numbers else ''}>{text_html(text)}</{tag}>" for nth, text in enumerate(cells)
    )
