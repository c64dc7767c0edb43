"""Damaged tables and random notebooks: an answer or a refusal in words, never a crash, never anything kept."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest

from boxside.actions import export_season, import_events, import_notebook
from boxside.core.values.carry import NotebookMapping
from boxside.core.values.errors import BoxsideError
from tests.actions.keeping import Keeper
from tests.core.tables.texts import random_texts

Make = Callable[..., Keeper]
BITS = (
    b"", b'"', b",", b";", b"\r\n", b"\n", b"\0", b"\xff", b"\xed\xa0\x80", b"9" * 40, b"-1", b"{", b"[" * 2000,
    b"NaN", b"1e999", b"null", b"\xef\xbb\xbf", b"\xef\xbf\xbdd800", b"'", b"void", b"T25:61", b"+99:99",
)  # fmt: skip


def damaged(data: bytes, chance: random.Random) -> bytes:
    """Return the bytes with one to four places cut out, doubled or put in anew."""
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(data))
        until = min(len(data), at + chance.choice((0, 1, 3, 40, 400)))
        data = data[:at] + chance.choice((*BITS, data[at:until] * 2)) + data[until:]
    return data


def test_damaged_tables_never_crash_and_never_get_in_by_halves(
    keeper: Keeper, make_keeper: Make, tmp_path: Path
) -> None:
    keeper.add("B01", n=30, instar=1)
    fed = keeper.log("B01", "fed", prey="a\nb", amount=2)
    keeper.log("B01", "count", n=29)
    assert fed.event_id
    export_season.export_season(keeper.services, tmp_path / "S")
    whole = (tmp_path / "S" / "events.csv").read_bytes()
    other = make_keeper("other")
    before, outcomes = other.kept(), {"whole": 0, "problems": 0, "refused": 0}
    path = tmp_path / "x.csv"
    for seed in range(150):
        path.write_bytes(damaged(whole, random.Random(seed)))
        try:
            view = import_events.preview_events(other.services, path)
        except BoxsideError:
            outcomes["refused"] += 1
        else:
            outcomes["whole" if view.ready else "problems"] += 1
            if not view.ready:
                with pytest.raises(BoxsideError):
                    import_events.import_events(other.services, path)
        assert other.kept() == before
    assert min(outcomes.values()) > 0, outcomes
    assert outcomes["problems"] > 50


def test_what_gets_through_can_be_kept_folded_and_written_again(
    keeper: Keeper, make_keeper: Make, tmp_path: Path
) -> None:
    keeper.add("B01", n=30, instar=1)
    keeper.log("B01", "count", n=29)
    export_season.export_season(keeper.services, tmp_path / "S")
    whole = (tmp_path / "S" / "events.csv").read_bytes()
    n_taken = 0
    for seed in range(60):
        other = make_keeper(f"other{seed}")
        (tmp_path / "x.csv").write_bytes(damaged(whole, random.Random(1000 + seed)))
        try:
            import_events.import_events(other.services, tmp_path / "x.csv")
        except BoxsideError:
            continue
        n_taken += 1
        export_season.export_season(other.services, tmp_path / f"T{seed}")
    assert n_taken > 2


def test_random_notebooks_never_crash(keeper: Keeper, tmp_path: Path) -> None:
    keeper.add("B01", n=30, instar=1)
    before = keeper.kept()
    mapping = NotebookMapping((("date", 0), ("box", 1), ("amount", 2), ("note", 3)), kind="died")
    texts = list(random_texts(3000, seed=11))
    n_views = 0
    for nth in range(0, 3000, 30):
        cells = [*texts[nth : nth + 28], "2026-05-01", "B01"]
        random.Random(nth).shuffle(cells)
        lines = ["a,b,c,d", *(",".join(cells[at : at + 4]) for at in range(0, 28, 4))]
        path = tmp_path / "n.csv"
        path.write_bytes("\n".join(lines).encode("utf-8", "surrogatepass"))
        for said in (None, mapping):
            try:
                view = import_notebook.notebook_view(keeper.services, path, said)
            except BoxsideError:
                continue
            n_views += 1
            assert not view.ready or view.n_new > 0
    assert keeper.kept() == before
    assert n_views > 20
