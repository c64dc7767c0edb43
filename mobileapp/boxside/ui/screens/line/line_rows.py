"""The line's numbers as rows: a cohort's, and those of the whole line with what would do better."""

from __future__ import annotations

from boxside.core.values.line_view import CohortRow, LineView, Outlook
from boxside.ui.widgets.reading import share
from boxside.ui.widgets.rows import RowData, head, paragraph
from boxside.ui.words import say


def row_of(view: LineView, cohort: str) -> CohortRow | None:
    """Return a cohort by its id."""
    return next((row for row in view.cohorts if row.id == cohort), None)


def summary(view: LineView) -> str:
    """Return the line in one sentence: what is kept, and the size it is bred as."""
    if view.gene_diversity is None:
        return ""
    kept = say("kept", share=percent(view.gene_diversity))
    return f"{kept} {say('size_now', size=f'{view.size_now:.1f}')}" if view.size_now else kept


def percent(part: float) -> str:
    """Return a share as `93 %`; with a decimal where rounding would hide that something is lost."""
    whole = f"{100 * part:.0f}"
    return f"{whole} %" if whole not in ("100", "0") or part in (0.0, 1.0) else f"{100 * part:.1f} %"


def cohort_rows(width: float, cohort: CohortRow, view: LineView) -> list[RowData]:
    """Return what there is to tell of a cohort."""
    born = [paragraph(width, str(cohort.born_on), say("born"))] if cohort.born_on else []
    parents = [paragraph(width, cohort.parents, say("parents"))] if cohort.parents else []
    return [
        paragraph(width, cohort.text),
        *born,
        *parents,
        *_kinships(width, cohort, view),
        head(width, say("founder_shares")),
        *(share(width, f"{name}: {percent(part)}", part) for name, part in cohort.founder_shares),
        *(paragraph(width, note, icon="info") for note in cohort.notes),
    ]


def _kinships(width: float, cohort: CohortRow, view: LineView) -> list[RowData]:
    rows = [paragraph(width, f"{cohort.inbreeding:.3f}. {say('inbreeding_is')}", say("inbreeding"))]
    if cohort.kind != "individual":
        rows.append(paragraph(width, f"{cohort.within:.3f}. {say('within_is')}", say("within")))
    if cohort.mean_kinship is not None:
        of_all = say("of_all", value=f"{view.mean_kinship:.3f}") if view.mean_kinship is not None else ""
        words = f"{cohort.mean_kinship:.3f}. {say('mean_kinship_is')} {of_all}".strip()
        rows.append(paragraph(width, words, say("mean_kinship")))
    return rows


def line_rows(width: float, view: LineView) -> list[RowData]:
    """Return the numbers of the whole line: now, how it was bred, how it would go on, what would repair it."""
    if view.empty:
        return [paragraph(width, view.empty)]
    ahead = [row for outlook in view.outlooks for row in _outlook(width, outlook)]
    newcomers = [paragraph(width, text, icon="add") for text in view.newcomers]
    return [
        *_now(width, view),
        *([head(width, say("bred"))] if view.generations else []),
        *(paragraph(width, row.text) for row in view.generations),
        *([head(width, say("ahead_of_line")), paragraph(width, say("ahead_is"))] if ahead else []),
        *ahead,
        *([head(width, say("newcomers"))] if newcomers else []),
        *newcomers,
        *(paragraph(width, note, icon="info") for note in view.notes),
        paragraph(width, say("drawing_is"), say("drawing")),
    ]


def _now(width: float, view: LineView) -> list[RowData]:
    rows = []
    if view.gene_diversity is not None:
        words = say("gene_diversity_is", share=percent(view.gene_diversity))
        rows.append(share(width, words, view.gene_diversity))
    numbers = (
        ("size_newest", view.size_now, ".1f"), ("size_overall", view.size_overall, ".1f"),
        ("mean_kinship_all", view.mean_kinship, ".3f"), ("founder_genomes", view.founder_genomes, ".1f"),
    )  # fmt: skip
    said = {
        "size_newest": say("size_newest"), "size_overall": say("size_overall"),
        "mean_kinship_all": say("mean_kinship_all"), "founder_genomes": say("founder_genomes"),
    }  # fmt: skip
    rows += [paragraph(width, f"{value:{form}}", said[key]) for key, value, form in numbers if value is not None]
    return rows


def _outlook(width: float, outlook: Outlook) -> list[RowData]:
    """One way of breeding: who breeds, then what is kept and lost after each stretch of generations."""
    name = outlook.name[0].upper() + outlook.name[1:]
    who = say("a_generation", dams=outlook.n_dams, sires=outlook.n_sires)
    bars = [
        share(width, say("kept_after", n=n, kept=percent(left), lost=percent(1 - left)), left)
        for n, left in outlook.left
    ]
    return [paragraph(width, who, name), *bars]


__all__ = ["cohort_rows", "line_rows", "percent", "row_of", "summary"]
