"""A small part of the years of nudges, with controls that have to fail; all of it: `python -m tests.torture.nudges`."""

from __future__ import annotations

from pathlib import Path

from buildspec import java
from buildspec.receiver import Receiver
from tests.torture.nudges import Careless, run

DAYS = 300


def test_no_nudge_too_many_nor_twice_nor_stale_nor_in_quiet_hours_nor_lost() -> None:
    found = run(6, DAYS, Receiver)
    assert found.is_good, found
    assert (found.days, found.posts > 300, found.expected > 150) == (6 * DAYS, True, True)


def test_control_a_phone_that_forgets_posts_twice() -> None:
    assert run(1, DAYS, Receiver, forgets=True).twice > 0


def test_control_a_phone_that_is_not_told_of_its_starts_loses_nudges() -> None:
    assert run(2, DAYS, Receiver, hears_system=False).lost > 0


def test_control_a_phone_that_knows_no_end_nor_quiet_hours_posts_what_is_stale_and_at_night() -> None:
    found = run(1, DAYS, lambda: Careless(Receiver()), first_seed=3)
    assert found.stale > 0
    assert found.in_quiet > 0
    assert found.most_a_day > 3


def test_the_java_on_this_computer_does_as_well(classes: Path) -> None:
    with java.phone(classes) as phone:
        found = run(2, 200, lambda: phone, first_seed=50)
    assert found.is_good, found
    assert found.expected > 20
