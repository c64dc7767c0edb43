"""The desk: one worker, results on the thread that draws, errors as notices."""

from __future__ import annotations

import threading
from typing import Any

import pytest

from boxside.app.desk import UNFORESEEN, Desk, InlineDesk, notice_of
from boxside.core.values.errors import EntryError
from boxside.core.values.views import Notice


def refuse(*_: Any) -> None:
    """Raise an error for the person."""
    raise EntryError("12 were moved out, but 9 live here. Nothing was saved. Count again.")


def fail(*_: Any) -> None:
    """Raise an error that nobody foresaw."""
    raise ZeroDivisionError


def unexpected(_: Any) -> None:
    """Take a call that must not come."""
    raise AssertionError


def test_results_come_in_the_order_of_the_questions_and_off_the_worker() -> None:
    got: list[Any] = []
    brought: list[Any] = []
    desk = Desk("services", brought.append)
    threads = []

    def action(services: Any, n: int) -> tuple[Any, int]:
        threads.append(threading.current_thread())
        return services, n

    for n in range(50):
        desk.ask(action, n, then=got.append, failed=unexpected)
    desk.close()
    assert got == []
    for call in brought:
        call()
    assert got == [("services", n) for n in range(50)]
    assert len(set(threads)) == 1
    assert threads[0] is not threading.current_thread()


@pytest.mark.parametrize("inline", [True, False])
def test_an_error_for_the_person_becomes_a_notice(inline: bool) -> None:
    got: list[Notice] = []
    brought: list[Any] = []
    desk = InlineDesk(None) if inline else Desk(None, brought.append)
    desk.ask(refuse, then=unexpected, failed=got.append)
    desk.close()
    for call in brought:
        call()
    assert got == [Notice("12 were moved out, but 9 live here.", do="Nothing was saved. Count again.", bad=True)]


def test_an_unforeseen_error_is_logged_and_told(caplog: pytest.LogCaptureFixture) -> None:
    got: list[Notice] = []
    InlineDesk(None).ask(fail, then=unexpected, failed=got.append)
    assert got == [UNFORESEEN]
    assert "ZeroDivisionError" in caplog.text


def test_a_one_sentence_error_is_what_happened() -> None:
    assert notice_of(EntryError("There is no such box.")) == Notice("There is no such box.", bad=True)


def test_what_takes_long_holds_up_no_save_and_is_finished_before_the_desk_closes() -> None:
    got: list[Any] = []
    brought: list[Any] = []
    ended: list[str] = []
    may_end, is_saved = threading.Event(), threading.Event()
    desk = Desk("services", brought.append)

    def long(services: Any) -> str:
        assert may_end.wait(60)
        return "looked"

    def save(services: Any) -> str:
        is_saved.set()
        return "saved"

    desk.beside(long, then=got.append, failed=unexpected)
    desk.ask(save, then=got.append, failed=unexpected)
    assert is_saved.wait(60), "the save went on while the long one had not ended"
    may_end.set()
    desk.close(lambda: ended.append(threading.current_thread().name))
    for call in brought:
        call()
    assert sorted(got) == ["looked", "saved"]
    assert len(set(ended)) == 2, "each thread says goodbye"


def test_an_inline_desk_does_at_once_what_takes_long() -> None:
    got: list[Any] = []
    InlineDesk("services").beside(lambda services: services, then=got.append, failed=unexpected)
    assert got == ["services"]
