"""What screens and commands are shown of a measured photo, the card and growth: frozen values, in words.

Positions on a picture are (x, y) in pixels of that picture, from its top-left corner, x to the right, y down.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from boxside.core.values.body import Body, Count, Point, Result
from boxside.core.values.chart import Chart
from boxside.core.values.season import CountResult, Flow
from boxside.core.values.views import Notice


@dataclass(frozen=True, slots=True)
class Frame:
    """How a shown picture lies on the plane that is measured.

    Millimetres are `origin_mm` + (pixel + 0.5) / `px_per_mm`; `photo_per_px` is how many pixels of the upright
    photo one pixel of the picture stands for. `px_per_mm` is 0 for a photo without a scale.
    """

    width_px: int
    height_px: int
    px_per_mm: float
    origin_mm: Point
    photo_per_px: float = 1.0

    @property
    def has_scale(self) -> bool:
        """Whether pixels of the picture are millimetres of the plane."""
        return self.px_per_mm > 0

    def to_mm(self, at: Point) -> Point:
        """Return the plane millimetres of a position on the picture; it has a scale."""
        return tuple((p + 0.5) / self.px_per_mm + o for p, o in zip(at, self.origin_mm, strict=True))  # type: ignore[return-value]

    def to_px(self, mm: Point) -> Point:
        """Return the position on the picture of plane millimetres."""
        return tuple((m - o) * self.px_per_mm - 0.5 for m, o in zip(mm, self.origin_mm, strict=True))  # type: ignore[return-value]

    def to_photo(self, at: Point) -> Point:
        """Return the pixel of the upright photo at a position on a picture without a scale."""
        return tuple((p + 0.5) * self.photo_per_px - 0.5 for p in at)  # type: ignore[return-value]


@dataclass(frozen=True, slots=True)
class BodyRow:
    """One body of a photo in words.

    `id` stays the same while other bodies come and go; `number` is what the picture shows beside it. `size` is the
    length with its 95 % interval, or how many animals it may be; `why` says what its flags mean. `midline_px` and
    `outline_px` lie on the picture; the two ends of `midline_px` can be moved.
    """

    id: str
    number: int
    body: Body
    size: str
    detail: str
    why: str
    midline_px: tuple[Point, ...]
    outline_px: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class MeasureView:
    """A measured photo, or why it is refused.

    `sha256` names the upright photo as it would be kept, `picture` are PNG bytes: the window from straight above, or,
    for a refused photo that could be read, the photo itself; they stay the same while bodies come and go. `frame`
    says where its pixels lie, None where there is no picture. `can_calibrate`: two taps on a known length would give
    it a scale. `box_id` is where `accept` books it. `work` is what the actions need again; screens hand it back
    untouched.
    """

    sha256: str
    box_id: str
    picture: bytes
    frame: Frame | None
    bodies: tuple[BodyRow, ...]
    count: Count
    count_text: str
    scale_text: str
    summary: str
    refused: str = ""
    notice: Notice | None = None
    can_calibrate: bool = False
    limits: tuple[str, ...] = ()
    result: Result | None = field(default=None, compare=False, repr=False)
    work: object = field(default=None, compare=False, repr=False)

    @property
    def can_accept(self) -> bool:
        """Whether there is something to book."""
        return not self.refused and bool(self.bodies)


@dataclass(frozen=True, slots=True)
class MeasureDone:
    """A measuring that was booked: how many lengths, and what the count said where one was booked with it."""

    flow: Flow
    event_id: str
    n_lengths: int
    sentence: str
    count: CountResult | None = None


@dataclass(frozen=True, slots=True)
class CardView:
    """The measuring card as a page, and where everything on it lies, in mm from the card's top-left corner, y down.

    `window_mm` is left, top, right, bottom; `markers` are (id, four corners clockwise from the top left); `bar_mm`
    the left end of the check line, `bar_length_mm` its nominal length and `bar_measured_mm` what the keeper found.
    `page_mm` is the page's size and `on_page_mm` where on it the card's top-left corner is printed.
    """

    size: str
    size_mm: tuple[float, float]
    window_mm: tuple[float, float, float, float]
    markers: tuple[tuple[int, tuple[Point, ...]], ...]
    bar_mm: Point
    bar_length_mm: float
    bar_measured_mm: float
    page_mm: tuple[float, float]
    on_page_mm: Point
    pdf: bytes = field(repr=False, default=b"")


@dataclass(frozen=True, slots=True)
class Advice:
    """Something to do that follows from sizes: what, and why; `key` is grade or pupation."""

    key: str
    what: str
    why: str


@dataclass(frozen=True, slots=True)
class InstarGuess:
    """How many of the bodies measured last are probably of an instar.

    `share` is the mean probability of that instar over all of them; `typical_mm` its usual length.
    """

    instar: int
    n: int
    share: float
    typical_mm: float


@dataclass(frozen=True, slots=True)
class PaceRow:
    """The cohort against an earlier one of the keeper's at the same age."""

    cohort: str
    name: str
    pace: str
    ratio: float
    interval: tuple[float, float] | None
    sentence: str


@dataclass(frozen=True, slots=True)
class GrowthView:
    """Sizes over time of the larvae of a box or of a cohort, and what follows from them.

    `chart` shows every body as a dot; where nothing was measured it is without points and says what is missing.
    `numbers` are (what, in words), each with its interval where there is one. `instars` are guesses, empty where
    sizes cannot tell: `instar_note` then says why. `earlier` compares with the keeper's own earlier cohorts,
    `notes` are the limits.
    """

    title: str
    chart: Chart
    numbers: tuple[tuple[str, str], ...] = ()
    advice: tuple[Advice, ...] = ()
    instars: tuple[InstarGuess, ...] = ()
    instar_note: str = ""
    earlier: tuple[PaceRow, ...] = ()
    notes: tuple[str, ...] = ()
    box_id: str = ""
    cohort: str = ""
