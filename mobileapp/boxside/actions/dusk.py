"""The evening: which females glow, who has males, who has none, and who will not live much longer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from boxside.actions.adults import Emerged, living_broods
from boxside.actions.buttons import act_of
from boxside.actions.context import zone_of
from boxside.actions.evenings import evening_of, glow_spans, sun_line, sunset_of
from boxside.actions.line_sound import SoundLine, sound_line
from boxside.actions.log_event import log_event
from boxside.actions.services import Services
from boxside.actions.stays import by_box, stays_of
from boxside.actions.wording import day_text
from boxside.core.values.dusk import Brood, DuskRow, DuskView, GlowSpan, Males, Offer
from boxside.core.values.event import Draft, Json
from boxside.core.values.moments import DAY_MS, day_of
from boxside.core.values.stages import Sex, Stage
from boxside.core.values.views import Act, Saved
from boxside.store import lineage, reading
from boxside.store.lineage import AdultMove, Heads

EMPTY = "No adults now. Males usually emerge before females; pupae are on the round."
_EVENINGS_DAYS = 30
_SOON_DAYS = 3
_ORDER = ("alone", "glowing", "waiting", "paired", "laying", "males")
_FORMS = {"introduce": ("Bring males", "pair"), "separate": ("Part", "separate"), "lay": ("Eggs laid", "egg")}


@dataclass(frozen=True, slots=True)
class _Evening:
    """All that the rows of one evening are made of."""

    services: Services
    zone: ZoneInfo
    now_ms: int
    on: date
    line: SoundLine
    moves: dict[str, list[AdultMove]]
    adults: dict[str, list[Heads]]
    broods: Sequence[Emerged]

    @property
    def today(self) -> date:
        """The calendar day."""
        return day_of(self.now_ms, self.zone)


def dusk_view(services: Services) -> DuskView:
    """Return every box with adults as it stands this evening, those that need something first."""
    evening = _evening(services)
    sun = sun_line(sunset_of(services, evening.on, evening.zone), evening.zone, evening.now_ms)
    rows = sorted((_row(evening, box) for box in evening.adults), key=lambda r: (_ORDER.index(r.state), r.label))
    alone = tuple(row.label for row in rows if row.state == "alone")
    idle = tuple(row.label for row in rows if row.state == "males")
    return DuskView(evening.on, sun, tuple(rows), alone, idle, _advice(rows), empty="" if rows else EMPTY)


def _evening(services: Services) -> _Evening:
    zone, now_ms = zone_of(services), services.clock.now_ms()
    line, moves = sound_line(services), lineage.adult_moves(services.store)
    open_ones = {box.id for box in reading.open_boxes(services.store)}
    adults: dict[str, list[Heads]] = {}
    for head in line.heads:
        if head.stage is Stage.ADULT and head.box in open_ones:
            adults.setdefault(head.box, []).append(head)
    broods = living_broods(services, moves, line.heads)
    return _Evening(services, zone, now_ms, evening_of(now_ms, zone), line, by_box(moves), adults, broods)


def _row(evening: _Evening, box: str) -> DuskRow:
    heads = evening.adults[box]
    entity = reading.entity(evening.services.store, "box", box)
    females, n_males = _females(heads), sum(h.n for h in heads if h.sex is Sex.MALE)
    n_females = sum(n for _, n in females)
    spans = glow_spans(
        evening.services,
        lineage.glows(evening.services.store, box, evening.now_ms - _EVENINGS_DAYS * DAY_MS),
        evening.zone,
    )
    now = next((span for span in spans if span.on == evening.on and not span.until_at), None)
    state = _state(evening, box, n_females, n_males, now)
    broods = tuple(_brood(evening, brood) for brood in _in_box(evening.broods, heads))
    parted = _parted(evening, box) if n_females and not n_males else ""
    named = tuple((_name(evening, cohort), n) for cohort, n in females)
    return DuskRow(
        box_id=box,
        label=entity.shown if entity else box[:8],
        headline=_headline(state, now, n_females, n_males, spans, evening) + (f" {parted}." if parted else ""),
        who=_who(evening, heads),
        state=state,
        n_females=n_females,
        n_males=n_males,
        females=named,
        males=_males(evening, box, heads),
        broods=broods,
        evenings=spans,
        acts=_acts(evening.services, state, now is not None),
        offers=_offers(evening, box, [cohort for cohort, _ in females]) if not n_males and n_females else (),
        warnings=tuple(brood.text for brood in broods if brood.soon or brood.past),
        is_glowing=now is not None,
        parted=parted,
    )


def _in_box(broods: Sequence[Emerged], heads: Sequence[Heads]) -> list[Emerged]:
    """The broods that a box's adults belong to: of those of one cohort and sex, the youngest first."""
    found = []
    for head in heads:
        left = head.n
        for brood in reversed(broods):
            if left and (brood.cohort, brood.sex) == (head.cohort, head.sex):
                found.append(replace(brood, n=min(left, brood.n)))
                left -= found[-1].n
    return sorted(found, key=lambda brood: (brood.on, brood.cohort, brood.sex))


def _females(heads: Sequence[Heads]) -> list[tuple[str, int]]:
    """Females by cohort; unsexed adults count as females where no male is known to be among them."""
    males = any(head.sex is Sex.MALE for head in heads)
    counted = [h for h in heads if h.sex is Sex.FEMALE or (h.sex is Sex.UNKNOWN and not males)]
    found: dict[str, int] = {}
    for head in counted:
        found[head.cohort] = found.get(head.cohort, 0) + head.n
    return sorted(found.items())


def _state(evening: _Evening, box: str, n_females: int, n_males: int, now: GlowSpan | None) -> str:
    if not n_females:
        return "males"
    if _has_laid(evening, box):
        return "laying"
    if n_males:
        return "paired"
    return "alone" if now else "waiting"


def _has_laid(evening: _Evening, box: str) -> bool:
    """Whether eggs were laid here since the females came."""
    return _since_they_came(evening, box, "laid") is not None


def _since_they_came(evening: _Evening, box: str, kind: str) -> int | None:
    """When something last happened here since the females came, None where it did not."""
    stays = [stay for stay in stays_of(evening.moves, box) if stay.until is None]
    newest = {item.kind: item for item in reading.newest(evening.services.store, "box", [box])[box]}
    seen = newest.get(kind)
    return seen.at_ms if stays and seen is not None and seen.at_ms >= stays[-1].since[2] else None


def _parted(evening: _Evening, box: str) -> str:
    ms = _since_they_came(evening, box, "separated")
    return f"Parted {day_text(day_of(ms, evening.zone), evening.today)}" if ms is not None else ""


def _headline(
    state: str, now: GlowSpan | None, n_females: int, n_males: int, spans: Sequence[GlowSpan], evening: _Evening
) -> str:
    last = next((span for span in spans if span.until_at or span.on != evening.on), None)
    glow = f"Glowing {now.text}" if now else f"Last glow {_evening_text(last, evening)}" if last else "Not seen glowing"
    females, males = _many(n_females, "female"), _many(n_males, "male")
    return {
        "alone": f"{glow}. No male here.",
        "waiting": f"{females} without a male. {glow}.",
        "paired": f"{females} with {males}. {glow}.",
        "laying": f"Eggs laid. {females}" + (f" with {males}." if n_males else "."),
        "males": f"{males} without a female.",
    }[state]


def _evening_text(span: GlowSpan, evening: _Evening) -> str:
    return f"{day_text(span.on, evening.today)}, {span.text.removeprefix('since ')}"


def _many(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"


def _name(evening: _Evening, cohort: str) -> str:
    return evening.line.facts.names.get(cohort, "unknown")


def _who(evening: _Evening, heads: Sequence[Heads]) -> str:
    words = {Sex.FEMALE: "female", Sex.MALE: "male", Sex.UNKNOWN: "unsexed adult"}
    return "; ".join(f"{_many(h.n, words[h.sex])} of {_name(evening, h.cohort)}" for h in heads)


def _males(evening: _Evening, box: str, heads: Sequence[Heads]) -> tuple[Males, ...]:
    found = []
    for head in heads:
        if head.sex is not Sex.MALE:
            continue
        came = [m for m in evening.moves.get(box, ()) if m.cohort == head.cohort and m.sex is Sex.MALE and m.delta > 0]
        since = day_text(day_of(came[-1].place[2], evening.zone), evening.today) if came else ""
        how = "introduced" if came and came[-1].kind == "introduced" else "here"
        name = _name(evening, head.cohort)
        text = f"{_many(head.n, 'male')} of {name}" + (f", {how} since {since}" if since else "")
        found.append(Males(head.cohort, name, head.n, since, text))
    return tuple(found)


def _brood(evening: _Evening, brood: Emerged) -> Brood:
    now, name = evening.today, _name(evening, brood.cohort)
    past = now > brood.dies_by
    soon = not past and now >= brood.dies_from - timedelta(_SOON_DAYS)
    word = "unsexed adult" if brood.sex is Sex.UNKNOWN else brood.sex.value
    days = (now - brood.on).days
    end = (
        "older than they usually get" if past
        else f"may die from {day_text(brood.dies_from, now)}, by {day_text(brood.dies_by, now)} at the latest"
    )  # fmt: skip
    text = f"{_many(brood.n, word)} of {name}, emerged {day_text(brood.on, now)}, day {days}: {end}."
    return Brood(name, brood.sex.value, brood.n, brood.on, brood.dies_from, brood.dies_by, soon, past, text)


def _acts(services: Services, state: str, is_glowing: bool) -> tuple[Act, ...]:
    glow = act_of(services, "glow_ended" if is_glowing else "glowing", ())
    forms = {name: Act(label, icon, command=name) for name, (label, icon) in _FORMS.items()}
    return {
        "alone": (forms["introduce"], glow, forms["lay"]),
        "waiting": (glow, forms["introduce"], forms["lay"]),
        "paired": (forms["lay"], forms["separate"], glow),
        "laying": (forms["separate"], forms["lay"], glow),
        "males": (),
    }[state]


def _offers(evening: _Evening, box: str, females: Sequence[str]) -> tuple[Offer, ...]:
    """Males of all other boxes, those without a female first, then the least related."""
    found = []
    for other, heads in evening.adults.items():
        busy = any(head.sex is Sex.FEMALE for head in heads)
        for head in heads:
            if other != box and head.sex is Sex.MALE:
                found.append((busy, _offer(evening, head, females, busy)))
    found.sort(key=lambda item: (item[0], item[1].kinship if item[1].kinship is not None else 1.0, item[1].label))
    return tuple(offer for _, offer in found)


def _offer(evening: _Evening, head: Heads, females: Sequence[str], busy: bool) -> Offer:
    names = evening.line.facts.names
    known = [names[cohort] for cohort in females if cohort in names]
    kinship = None
    if head.cohort in names and known:
        kinship = max(evening.line.known.k(names[head.cohort], name) for name in known)
    entity = reading.entity(evening.services.store, "box", head.box)
    label = entity.shown if entity else head.box[:8]
    related = f", kinship {kinship:.3f}" if kinship is not None else ""
    text = f"{_many(head.n, 'male')} of {_name(evening, head.cohort)} in {label}{related}"
    return Offer(
        head.box, label, head.cohort, _name(evening, head.cohort), head.n, kinship,
        text + (", with females now" if busy else ""),
    )  # fmt: skip


def _advice(rows: Sequence[DuskRow]) -> tuple[str, ...]:
    texts = []
    for row in rows:
        if row.state == "alone" and row.offers:
            texts.append(f"{row.label} glows without a male: bring {row.offers[0].text}.")
        elif row.state == "alone":
            texts.append(f"{row.label} glows and no male is adult now. Ask for males, or keep her cool.")
    if any(row.state == "males" for row in rows) and not any(row.state in ("alone", "waiting") for row in rows):
        idle = ", ".join(row.label for row in rows if row.state == "males")
        texts.append(f"Males without a female to go to: {idle}.")
    return tuple(texts)


def note_glow(services: Services, box: str, ended: bool = False, n: int | None = None, individual: str = "") -> Saved:
    """Note that a female glows now, or has stopped: one tap, the time is kept."""
    fields: dict[str, Json] = {"individual": individual or None}
    if not ended:
        fields["n"] = n
    return log_event(services, Draft("glow_ended" if ended else "glowing", "box", box, fields))


def dusk_json(services: Services) -> dict[str, object]:
    """Return the evening as plain data, for programs."""
    view = dusk_view(services)
    return {
        "on": view.on.isoformat(),
        "sun": view.sun.text,
        "boxes": [
            {
                "box": row.label, "state": row.state, "females": row.n_females, "males": row.n_males,
                "glowing": row.is_glowing, "headline": row.headline, "warnings": list(row.warnings),
                "evenings": [_span_json(span) for span in row.evenings],
            }
            for row in view.rows
        ],
        "alone": list(view.alone),
        "idle": list(view.idle),
        "advice": list(view.advice),
    }  # fmt: skip


def _span_json(span: GlowSpan) -> dict[str, object]:
    return {"on": span.on.isoformat(), "from_min": span.from_min, "until_min": span.until_min, "text": span.text}


def dusk_text(services: Services) -> list[str]:
    """Return the evening in lines of text."""
    view = dusk_view(services)
    lines = [view.sun.text, *([view.empty] if view.empty else [])]
    for row in view.rows:
        lines.append(f"{row.label}  {row.headline}  ({row.who})")
        lines += [f"     {text}" for text in row.warnings]
    return [*lines, *view.advice]
