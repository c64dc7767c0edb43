"""README and DEVELOPERS know every command, kind of event, table, setting's file and screen."""

from __future__ import annotations

import re
from pathlib import Path

import cogapp
import pytest

from boxside.catalog.catalog import Catalog
from boxside.cli.commands import COMMANDS

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BOTH = README + DEVELOPERS


@pytest.fixture(scope="module")
def written() -> tuple[str, str]:
    """Both files with their generated parts as cog would write them now."""
    texts = []
    for text in (README, DEVELOPERS):
        cog = cogapp.Cog()
        cog.options.checksum = False
        texts.append(cog.process_string(text))
    return texts[0], texts[1]


def test_generated_parts_are_up_to_date(written: tuple[str, str]) -> None:
    """Otherwise: `python -m cogapp -r README.md DEVELOPERS.md`."""
    assert written == (README, DEVELOPERS)


def test_every_command_is_explained(written: tuple[str, str]) -> None:
    for name, command in COMMANDS.items():
        assert f"`boxside {name}`" in written[0], name
        assert command.help in written[0], name


def test_every_kind_of_event_is_listed(written: tuple[str, str], catalog: Catalog) -> None:
    for name in catalog.vocabulary.kinds:
        assert f"| `{name}` |" in written[1], name


def test_every_exported_table_is_listed(written: tuple[str, str], catalog: Catalog) -> None:
    for name, table in catalog.tables.items():
        assert f"`{name}.csv`" in written[0], name
        assert table.description in written[0], name


def test_every_screen_is_mentioned() -> None:
    folder = ROOT / "mobileapp" / "boxside" / "ui" / "screens"
    screens = [path.name for path in folder.iterdir() if (path / f"{path.name}.py").exists()]
    assert len(screens) >= 5
    # A screen's folder is named after the word that the keeper reads; these two read otherwise.
    said = {"add_box": "an empty shelf", "start": "first start"}
    for name in screens:
        assert said.get(name, name).lower() in README.lower(), name


def test_every_room_is_listed() -> None:
    rooms = [path.name for path in (ROOT / "mobileapp" / "boxside").iterdir() if (path / "__init__.py").exists()]
    assert {"core", "store", "actions"} <= set(rooms)
    for room in rooms:
        assert f"`mobileapp/boxside/{room}/`" in DEVELOPERS, room


def test_files_that_are_named_are_there() -> None:
    """Only paths that begin at the top; what the docs say will be made is not there yet."""
    tops = "mobileapp|shared|assets|tests|buildspec"
    named = set(re.findall(rf"[`(\"]((?:{tops})/[\w./*-]+)[`)\"]", BOTH))
    assert len(named) > 8
    missing = [name for name in named if "NAME" not in name and not list(ROOT.glob(name.rstrip("/")))]
    assert missing == []


def test_commands_in_the_readme_can_be_read(catalog: Catalog) -> None:
    """Every `boxside ...` line of a block is one that the parser knows."""
    import shlex

    from boxside.cli.options import parser

    lines = re.findall(r"^boxside (.+)$", README, re.MULTILINE)
    assert len(lines) >= 5
    for line in lines:
        asked, rest = parser(COMMANDS).parse_known_args(shlex.split(line))
        assert COMMANDS[asked.command].takes_fields or rest == [], line
        if asked.command == "log":
            kind = catalog.vocabulary.kinds[asked.kind]
            names = [word.removeprefix("--") for word in rest if word.startswith("--")]
            assert all(kind.field(name) for name in names), line


def test_cautions_are_where_a_keeper_reads_them() -> None:
    for word in ("parasites", "gloves", "protected", "regulated", "Do not release", "not veterinary"):
        assert word in README, word
