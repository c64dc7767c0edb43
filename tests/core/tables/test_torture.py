"""A short run of the million texts; the whole is `python -m tests.torture.strings`."""

from __future__ import annotations

from tests.torture.strings import run


def test_thirty_thousand_texts_survive_both_flavours_and_the_control_does_not() -> None:
    found, control = run(10_000, seed=7)
    assert {name: (count.n, count.lost, count.formulas) for name, count in found.items()} == dict.fromkeys(
        found, (10_000, 0, 0)
    )
    assert len(found) == 3
    assert control.lost > 500
    assert control.formulas > 300
