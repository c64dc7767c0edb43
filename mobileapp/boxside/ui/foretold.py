"""What is expected, as rows and with its reasons; sums with their parts: what the screens of the future share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from boxside.actions.ahead_words import in_words
from boxside.actions.expecting import animals_text, when_text
from boxside.core.values.ahead import Expected, Sum
from boxside.core.values.forecast import Outlook
from boxside.ui.widgets.figures import part_row
from boxside.ui.widgets.reading import read
from boxside.ui.widgets.rows import RowData, paragraph, row
from boxside.ui.words import say

ICONS = {"hatch": "hatch", "pupate": "pupa", "emerge": "adult", "wake": "wake", "quarantine": "quarantine"}
SEX_ICONS = {"female": "female", "male": "male"}


def chance_words(one: Expected) -> str:
    """Return how surely it falls into its range of days, in words."""
    if one.outlook is not Outlook.EXPECTED or one.share_frac >= 1:
        return ""
    return say("chance_of", n=round(100 * one.share_frac))


def expected_row(width: float, one: Expected, day: date, pick: Callable[[Expected], None]) -> RowData:
    """Return a row: what, between which days, how many and how surely."""
    soft = " · ".join(part for part in (animals_text(one), chance_words(one)) if part)
    return row(
        width, pick, one, icon=SEX_ICONS.get(one.sex) or ICONS.get(one.what, "about"), title=one.headline,
        detail=when_text(one, day), soft=soft, is_late=one.outlook is Outlook.OVERDUE, trail="right",
    )  # fmt: skip


def tell_reasons(shell: Any, one: Expected, day: date) -> None:
    """Show why something is expected when it is."""

    def make(width: float) -> list[RowData]:
        said = " · ".join(part for part in (one.subject, animals_text(one)) if part)
        days = when_text(one, day)
        rows = [paragraph(width, said), paragraph(width, chance_words(one), f"{days[:1].upper()}{days[1:]}")]
        return [*rows, *(paragraph(width, in_words(reason.text, day), icon="dot") for reason in one.reasons)]

    read(shell, one.headline, make)


def number_words(value: float) -> str:
    """Return a number to one decimal, without a needless one.

    Examples
    --------
    >>> number_words(236.88), number_words(115.0)
    ('236.9', '115')
    """
    return f"{value:.1f}".removesuffix(".0")


def whole_words(value: float) -> str:
    """Return a number of animals, rounded."""
    return str(round(value))


def sum_rows(width: float, figure: Sum, day: date) -> list[RowData]:
    """Return the parts of a figure, one a row, and below them what they come to."""
    sign = "× " if figure.multiplied else ""
    rows = [part_row(width, in_words(part.label, day), _part_words(sign if n else "", part.value, figure.multiplied))
            for n, part in enumerate(figure.parts)]  # fmt: skip
    return [*rows, part_row(width, say("comes_to"), f"= {_come_to(figure)}")]


def _part_words(sign: str, value: float, is_factor: bool) -> str:
    said = f"{value:.2f}".rstrip("0").rstrip(".") if is_factor else number_words(value)
    return f"{sign}{said}".replace("-", "−")


def _come_to(figure: Sum) -> str:
    """Return the figure; where a product was rounded up to whole animals, the product as well."""
    product = 1.0
    for part in figure.parts:
        product *= part.value
    said = number_words(figure.value).replace("-", "−")
    if figure.multiplied and figure.parts and abs(product - figure.value) > 0.05:
        return say("rounded_up", exact=number_words(product), n=said)
    return said


def tell_sum(shell: Any, title: str, figure: Sum, day: date) -> None:
    """Show how a figure comes about."""

    def make(width: float) -> list[RowData]:
        return sum_rows(width, figure, day)

    read(shell, title, make)


__all__ = [
    "chance_words", "expected_row", "number_words", "sum_rows", "tell_reasons", "tell_sum", "whole_words",
]  # fmt: skip
