"""The house rules of the touch app: words, icons, kv files, colours."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from boxside.ui.contrast import contrast, rgb_of
from boxside.ui.icons import GLYPHS
from boxside.ui.places import ON_BAR, ON_MORE, PLACES
from boxside.ui.words import WORDS, say, say_n

ROOT = Path(__file__).resolve().parents[2]
UI = ROOT / "mobileapp" / "boxside" / "ui"
APP = UI.parent / "app"
KV = sorted(UI.rglob("*.kv"))
PY = [path for path in sorted(UI.rglob("*.py")) + sorted(APP.glob("*.py")) if path.name != "words.py"]


def test_every_word_that_is_asked_for_is_there_and_none_is_left_over() -> None:
    asked: set[str] = set()
    for path in KV:
        asked |= set(re.findall(r'app\.word\("(\w+)"', path.read_text(encoding="utf-8")))
    sources = "\n".join(path.read_text(encoding="utf-8") for path in PY)
    asked |= set(re.findall(r"""\bsay\(["'](\w+)["']""", sources))
    asked |= {f"{key}{end}" for key in re.findall(r'say_n\("(\w+)"', sources) for end in ("", "_one", "_none")} & set(
        WORDS
    )
    asked |= {f"days_{n}" for n in (1, 2, 3, 7)} | {"code", "stage_short", "number", "instar", "fed", "cohort", "area"}
    asked |= {"sure_counted", "sure_estimated", "sure_assumed", "female", "male", "unaccounted", "surplus"}
    asked |= {"white", "yellow", "blue", "red", "green", "silver"}  # of marks
    asked |= set(re.findall(r'Place\("(\w+)", "\w+", on="', sources))
    for first, second in re.findall(r'say\("(\w+)" if [^)]*? else "(\w+)"\)', sources):
        asked |= {first, second}
    assert asked - set(WORDS) == set()
    assert set(WORDS) - asked == set()


def test_words_for_one_and_none_are_used() -> None:
    assert say_n("all_boxes", 1) == "1 box"
    assert say_n("all_boxes", 4) == "4 boxes"
    assert say_n("boxes_so_far", 0) == "No box entered yet"
    with pytest.raises(KeyError):
        say("no_such_words")


def test_every_icon_that_is_named_has_a_glyph() -> None:
    named: set[str] = set()
    for path in KV:
        named |= set(re.findall(r'\b(?:icon|name|trail): "(\w+)"', path.read_text(encoding="utf-8")))
    for file in ("events.toml", "acts.toml"):
        text = (ROOT / "shared" / file).read_text(encoding="utf-8")
        assert tomllib.loads(text)
        named |= set(re.findall(r'^icon = "(\w+)"', text, re.MULTILINE))
    assert named - set(GLYPHS) == set()


def test_each_kv_file_stands_beside_its_module_which_loads_it_once() -> None:
    for path in KV:
        module = path.with_suffix(".py")
        assert module.exists(), path
        assert module.read_text(encoding="utf-8").count("\nload_kv(__file__)\n") == 1, module
    loaders = [path for path in sorted(UI.rglob("*.py")) if "\nload_kv(__file__)\n" in path.read_text(encoding="utf-8")]
    assert [path.with_suffix(".kv") for path in loaders] == KV


def test_screens_take_sizes_and_colours_from_the_theme() -> None:
    for path in (UI / "screens").rglob("*.kv"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"#[0-9a-fA-F]{6}\b", text), path
        numbers = [float(n) for n in re.findall(r"(?<![\w.#\"])(\d+(?:\.\d+)?)(?![\w\"])", text)]
        assert all(number <= 5 for number in numbers), path


def test_every_screen_has_a_folder_with_its_class() -> None:
    named = {place.name: place.screen for place in PLACES}
    folders = {path.parent.name for path in (UI / "screens").glob("*/*.kv")}
    assert set(named) == folders
    for name, screen in named.items():
        text = (UI / "screens" / name / f"{name}.py").read_text(encoding="utf-8")
        assert f"class {screen}(Page)" in text or f"class {screen}(RowsPage)" in text


def test_every_place_with_a_button_has_a_word_and_an_icon() -> None:
    """A new screen is one line of the table, one icon, one word; nothing leads to what is not there."""
    for place in (*ON_BAR, *ON_MORE):
        assert place.name in WORDS
        assert place.name in GLYPHS
        assert place.under in {tab.name for tab in ON_BAR}


def test_contrast_of_black_white_and_red() -> None:
    """WCAG 2.2: 21:1 at most; pure red on black is (0.2126 + 0.05) / 0.05 by its formula."""
    white, black, red = rgb_of("#ffffff"), rgb_of("#000000"), rgb_of("#ff0000")
    assert contrast(black, white) == pytest.approx(21)
    assert contrast(white, white) == pytest.approx(1)
    assert contrast(red, black) == pytest.approx((0.2126 + 0.05) / 0.05)


@pytest.mark.screen
@pytest.mark.parametrize("name", ["day", "dim", "red"])
def test_each_theme_keeps_its_contrast(window: object, name: str) -> None:
    from boxside.ui.theme import LEAST_CONTRAST, TEXT_ON, palette

    colours = palette(name)
    assert {
        (text, ground): round(contrast(colours[text], colours[ground]), 2)
        for text, ground in TEXT_ON
        if contrast(colours[text], colours[ground]) < LEAST_CONTRAST[name]
    } == {}


@pytest.mark.screen
def test_red_has_no_green_and_no_blue(window: object) -> None:
    from boxside.ui.theme import DAY, RED, palette

    assert set(RED) == set(DAY)
    assert all(colour[1:] == (0.0, 0.0) for colour in palette("red").values())


def test_no_file_is_longer_than_the_house_allows() -> None:
    lengths = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in [*PY, *KV]}
    assert max(lengths.values()) <= 450
    assert sorted(lengths.values())[len(lengths) // 2] <= 150


def test_screens_that_must_run_fail_where_a_library_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    from tests.ui import conftest

    monkeypatch.setattr(conftest, "missing_library", lambda: "libEGL.so.1")
    monkeypatch.delenv(conftest.MUST_RUN, raising=False)
    conftest.pytest_collection_modifyitems([])
    monkeypatch.setenv(conftest.MUST_RUN, "1")
    with pytest.raises(pytest.UsageError, match=r"libEGL\.so\.1 is missing"):
        conftest.pytest_collection_modifyitems([])
