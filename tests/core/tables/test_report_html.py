"""The season's page: what a person wrote stays text, nothing runs, nothing is asked of a network."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings

from boxside.core.charts import CHART_PALETTES
from boxside.core.tables import Report, ReportTable, report_html
from boxside.core.values.season import Section
from tests.core.charts.samples import SAMPLES
from tests.core.tables.test_csv_text import any_text

NASTY = '<script>alert(1)</script><img src="http://a.invalid" onerror=x>\'"&<!--]]>\u202e\0\x1b\ud800'
DAY = dict(CHART_PALETTES["day"])


class Page(HTMLParser):
    """Reads a page and keeps its elements and its text."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def page(text: str) -> str:
    chart = SAMPLES["timeline"]()
    section = Section("timeline", text, chart, ((text, text),), (text,), ((text,),), (text,))
    table = ReportTable(text, (text, "n"), ((text, "1"),), frozenset({1}), text)
    return "".join(report_html(Report(text, text, ((text, text),), (table,), (section,), (text,)), DAY))


def unwanted(text: str) -> list[str]:
    """Return what a page must not hold: scripts, handlers, forms, anything from outside."""
    found = []
    for tag, attrs in Page(text).elements:
        if tag in ("script", "img", "iframe", "object", "embed", "form", "input", "link", "base", "audio", "video"):
            found.append(tag)
        found += [name for name in attrs if name.startswith("on")]
        found += [f"{tag} {name}" for name, value in attrs.items() if name in ("src", "href") and not
                  (value or "").startswith("#")]  # fmt: skip
    return found + re.findall(r"@import|url\(|javascript:", text)


def test_what_was_typed_stays_text() -> None:
    text = page(NASTY)
    assert unwanted(text) == []
    said = "".join(Page(text).words)
    assert said.count("<script>alert(1)</script>") >= 8
    text.encode("utf-8")


def test_an_unescaped_page_would_be_seen() -> None:
    """The control."""
    assert set(unwanted(page("x") + NASTY)) == {"script", "img", "onerror", "img src"}


@given(any_text)
@settings(deadline=None, max_examples=20)
def test_any_text_leaves_the_elements_as_they_are(typed: str) -> None:
    plain, other = Page(page("x")), Page(page(f"x{typed}"))
    assert [tag for tag, _ in other.elements] == [tag for tag, _ in plain.elements]


def test_every_typed_text_is_set_apart_in_its_direction() -> None:
    text = page("\u202eevil")
    assert text.count("<bdi>\u202eevil</bdi>") == text.count("\u202eevil") - text.count("<title>\u202eevil") - len(
        re.findall(r'<title id="[^"]+">\u202eevil', text)
    )


def test_it_forbids_itself_every_connection_and_prints_on_a4() -> None:
    text = page("x")
    policy = next(attrs for tag, attrs in Page(text).elements if attrs.get("http-equiv") == "Content-Security-Policy")
    assert policy["content"] == "default-src 'none'; style-src 'unsafe-inline'"
    assert "@page { size: A4" in text
    assert text.startswith("<!DOCTYPE html>")


def test_pictures_on_one_page_have_names_of_their_own() -> None:
    sections = tuple(Section(key, key, SAMPLES["timeline"]()) for key in ("one", "two"))
    text = "".join(report_html(Report("t", "s", (), (), sections, ()), DAY))
    names = [attrs["id"] for _, attrs in Page(text).elements if "id" in attrs]
    assert len(names) == len(set(names))
    for _, attrs in Page(text).elements:
        assert set((attrs.get("aria-labelledby") or "").split()) <= set(names)
        assert (attrs.get("href") or "#glance").removeprefix("#") in names


@pytest.mark.parametrize("key", sorted(SAMPLES))
def test_every_chart_stands_in_a_page(key: str) -> None:
    text = "".join(report_html(Report("t", "s", (), (), (Section(key, key, SAMPLES[key]()),), ()), DAY))
    assert text.count("<svg") == text.count("</svg>") == 1
    assert "<?xml" not in text
