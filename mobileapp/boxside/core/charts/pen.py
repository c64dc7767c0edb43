"""Texts set to a measure: their sizes, lines that fit a width, and what is cut where nothing fits."""

from __future__ import annotations

from dataclasses import dataclass

from boxside.core.charts.marks import Anchor, Ink, Measure, Paint, Text

TEXT_SP = 16.0
TITLE_SP = 19.0
# The stronger cut of a font is wider than the one that is measured; 1.1 holds for the bundled one.
STRONG_WIDER = 1.1


@dataclass(frozen=True, slots=True)
class Pen:
    """A text measure at a scale: 1 is 16 px for what is read, and every other length grows with it."""

    measure: Measure
    scale: float

    @property
    def size(self) -> float:
        """Font size of ordinary text, px."""
        return TEXT_SP * self.scale

    @property
    def title_size(self) -> float:
        """Font size of the title, px."""
        return TITLE_SP * self.scale

    @property
    def line(self) -> float:
        """Height of a line of ordinary text, px."""
        return self.measure("Ag", self.size)[1]

    @property
    def title_line(self) -> float:
        """Height of a line of the title, px."""
        return self.measure("Ag", self.title_size)[1]

    def px(self, length: float) -> float:
        """Return a length at this scale."""
        return length * self.scale

    def width(self, text: str, strong: bool = False) -> float:
        """Return the width of a text, of the title where it is strong, px."""
        if strong:
            return self.measure(text, self.title_size)[0] * STRONG_WIDER
        return self.measure(text, self.size)[0]

    def text(self, x: float, y: float, words: str, paint: Paint = Ink.TEXT, anchor: Anchor = Anchor.START) -> Text:
        """Return a line of ordinary text with its top at y."""
        return Text(x, y, words, self.size, paint, anchor, self.width(words), self.line)

    def title(self, x: float, y: float, words: str) -> Text:
        """Return a line of the title with its top at y."""
        width = self.width(words, strong=True)
        return Text(x, y, words, self.title_size, Ink.TEXT, Anchor.START, width, self.title_line, strong=True)

    def cut(self, text: str, width: float, strong: bool = False) -> str:
        """Return the text, or as much of its beginning as fits before an ellipsis; empty if none does."""
        if self.width(text, strong) <= width:
            return text
        low, high = 0, len(text)
        while low < high:
            middle = (low + high + 1) // 2
            if self.width(text[:middle].rstrip() + "…", strong) <= width:
                low = middle
            else:
                high = middle - 1
        return text[:low].rstrip() + "…" if low else ""

    def wrap(self, text: str, width: float, most: int, strong: bool = False) -> tuple[str, ...]:
        """Return the text as at most `most` lines; what has no room ends in an ellipsis."""
        lines: list[str] = []
        words = text.split()
        while words and len(lines) < most - 1:
            n = self._n_fitting(words, width, strong)
            if n == 0:
                break
            lines.append(" ".join(words[:n]))
            words = words[n:]
        last = self.cut(" ".join(words), width, strong) if words else ""
        return (*lines, last) if last else tuple(lines)

    def _n_fitting(self, words: list[str], width: float, strong: bool) -> int:
        n = 0
        while n < len(words) and self.width(" ".join(words[: n + 1]), strong) <= width:
            n += 1
        return n

    def fits(self, text: str, width: float, most: int) -> bool:
        """Whether the text stands whole in `most` lines."""
        lines = self.wrap(text, width, most)
        return " ".join(lines) == " ".join(text.split())
