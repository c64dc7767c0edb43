"""Archives, exports and notebooks of the invented colony: views as the actions would return them, and what was called.

`services.settings["keep"]` says how things stand: `fresh` (the last archive is of yesterday), `old`, `never`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from boxside.core.values.carry import (
    EventsDone,
    EventsView,
    ExportForm,
    Flavour,
    NotebookMapping,
    NotebookRow,
    NotebookView,
    SeasonChoice,
)
from boxside.core.values.keeping import (
    ArchiveView,
    CheckLine,
    CheckReport,
    Conflict,
    ConflictKind,
    Contents,
    KeepingView,
    Looked,
    Merged,
    MergePreview,
    Repaired,
    RestorePreview,
    SnapshotRow,
)
from boxside.core.values.season import Flow
from boxside.core.values.views import Notice, Saved, Undo
from tests.ui.fake_colony import Services, fail_if_told

HOLDS = Contents(1204, 310, 24, 1_795_636_800_000)
TEXT = "1,204 events, 310 photos, newest 3 May"
FOLDER = "/home/keeper/Documents/colony/archives"


def how(services: Services) -> str:
    """Return how things stand."""
    return str(services.settings.get("keep", "fresh"))


def keeping_view(services: Services) -> KeepingView:
    """Return how archives stand."""
    notice = None
    if how(services) != "fresh":
        notice = Notice(
            "The last archive is of 3 May.", "Everything is on this device, and only there.",
            "Make an archive and keep it elsewhere.",
        )  # fmt: skip
    last, age = {"fresh": ("24 November", 1), "old": ("3 May", 206), "never": ("never", None)}[how(services)]
    copies = tuple(
        SnapshotRow(f"{n}.db", f"{24 - n} November, 20:1{n}", why, 4_200_000 + n)
        for n, why in enumerate(("once a day", "before a merge", "once a day"))
    )
    folder = str(services.settings.get("archive_folder", FOLDER if how(services) == "fresh" else ""))
    undo = "3 of 1,204 events and 1 of 310 photos are new, newest 3 May" if how(services) == "old" else ""
    return KeepingView(
        last, notice is not None, "Two weeks", folder, undo, copies if how(services) != "never" else (), notice, age
    )


def use_folder(services: Services, folder: str) -> KeepingView:
    """Remember a folder."""
    services.settings["archive_folder"] = folder
    return keeping_view(services)


def use_own_folder(services: Services) -> KeepingView:
    """Take the folder beside the log."""
    return use_folder(services, "/data/boxside/archives")


def archive_now(services: Services, watch: Any = None) -> ArchiveView:
    """Remember an archive; an `old` colony misses photos."""
    services.asked.append(("archive_now", ()))
    fail_if_told(services)
    notice = None
    if how(services) == "old":
        notice = Notice(
            "2 photos could not be put into the archive: missing, or not what was written.",
            "All entries and all other photos are in it.", "`boxside check` names them.", bad=True,
        )  # fmt: skip
    return ArchiveView(f"{FOLDER}/boxside-2026-11-25.zip", TEXT, HOLDS, 98_000_000, "ab" * 32, notice)


CONFLICTS = (
    Conflict(
        ConflictKind.LABEL, "two open boxes are called B07: both stay, one is shown as B07·2",
        "Write a new code on the lid of B07·2 and change it there.",
    ),
    Conflict(
        ConflictKind.FUTURE, "3 events lie in the future by this clock",
        "They are kept as they are. Check the clocks of both devices.",
    ),
)  # fmt: skip
STOPS = Notice(
    "1 entry of the archive has the id of another here: 0190b2c4-7b1e-7aaa-8bbb-1234567890ab.", "Nothing was changed.",
    "Ask for the archive again, or have both logs checked: `boxside check`.", bad=True,
)  # fmt: skip
CLASH = Conflict(
    ConflictKind.SAME_ID, "fed, 3 May: the archive says something else under the same id (0190b2c4)",
    "One of the two was changed outside Boxside. Nothing can be merged until that is settled.",
)  # fmt: skip


def preview_merge(services: Services, path: Path, watch: Any = None) -> MergePreview:
    """Return an archive by its name: `known.zip` has nothing new, `clash.zip` cannot be merged."""
    services.asked.append(("preview_merge", path))
    fail_if_told(services)
    n_new = 0 if path.name == "known.zip" else 38
    stops, conflicts = (STOPS, (CLASH, *CONFLICTS)) if path.name == "clash.zip" else (None, CONFLICTS)
    text = f"{n_new} of 1,204 events and {n_new // 38} of 310 photos are new, newest 3 May"
    shown = () if n_new == 0 else conflicts
    return MergePreview(str(path), text, HOLDS, n_new, 1204 - n_new, n_new // 38, shown, len(shown) and 25, stops)


def merge_archive(services: Services, path: Path, watch: Any = None) -> Merged:
    """Remember a merge."""
    preview = preview_merge(services, path)
    services.asked.append(("merge_archive", path))
    safe = "It can be taken back as one step until something is logged or handed on."
    return Merged(Notice(f"Merged: {preview.text}.", safe), preview, preview.text)


def undo_merge(services: Services) -> Notice:
    """Remember that it was taken back."""
    services.asked.append(("undo_merge", ()))
    return Notice(
        "Taken back: the merge of 38 of 1,204 events and 1 of 310 photos are new.",
        "The log is what it was before it.",
    )


def preview_restore(services: Services, path: Path, watch: Any = None) -> RestorePreview:
    """Return what an archive holds; only a new log is empty."""
    services.asked.append(("preview_restore", path))
    fail_if_told(services)
    stops = None
    if not services.is_new:
        stops = Notice(
            "There is a log here already.", "Nothing was changed.",
            "Merge the archive into it, or restore it into an empty folder.", bad=True,
        )  # fmt: skip
    return RestorePreview(str(path), TEXT, replace(HOLDS, n_missing=2), stops)


def restore_archive(services: Services, path: Path, watch: Any = None) -> Merged:
    """Fill the log."""
    services.asked.append(("restore_archive", path))
    services.is_new = False
    preview = MergePreview(str(path), TEXT, HOLDS, 1204, 0, 310)
    return Merged(Notice(f"Restored: {TEXT}.", "The archive itself is as it was."), preview)


def check_log(services: Services, watch: Any = None) -> CheckReport:
    """Return a sound log; that of an `old` colony is damaged."""
    services.asked.append(("check_log", ()))
    is_bad = how(services) == "old"
    bad = "2 entries changed: 0190b2c4-7b1e-7aaa-8bbb-1234567890ab, 0190b2c4-7b1e-7aaa-8bbb-1234567890ac"
    lines = (
        CheckLine("file", 1, 0),
        CheckLine("entries", 31_204, 2 if is_bad else 0, bad if is_bad else ""),
        CheckLine("state", 1, 0, "not checked: the log cannot be written now" if how(services) == "never" else ""),
        CheckLine("photos", 310, 1 if is_bad else 0, "0123456789ab missing" if is_bad else ""),
        CheckLine("copies", 3, 0),
    )
    return CheckReport(not is_bad, lines, Notice("All is what was written."))


def repair_log(services: Services) -> Repaired:
    """Remember a repair."""
    services.asked.append(("repair_log", ()))
    what = (
        "The log was damaged on the disk (2 entries are not what was written) and was repaired. It was put together "
        "from the copy of 24 November and 14 newer entries read out of the damaged file."
    )
    do = "Look through the last days. The damaged file is kept: /data/boxside/damaged/boxside-1795636800000.db."
    return Repaired(Notice(what, "31,204 entries are there and what was written.", do, bad=True), 31_204, 14, 0, "x")


# ---- exports ----


@dataclass(frozen=True)
class Exported:
    """What was written."""

    path: Path
    rows: tuple[tuple[str, int], ...]
    photos: int = 0
    report: str = ""
    darwin_core: str = ""


def export_form(services: Services) -> ExportForm:
    """Return what can be chosen."""
    boxes = tuple((box.box_id, box.label) for box in services.boxes)
    cohorts = (("c1", "Alder 2026"), ("c2", "Birch 2025"), ("c3", "Clutch of the second female 2026"))
    seasons = (("2026", date(2026, 1, 1), date(2026, 12, 31)), ("Breeding 2026", date(2026, 5, 1), date(2026, 8, 31)))
    return ExportForm(
        31_204, 310, date(2024, 4, 2), date(2026, 11, 25), seasons, boxes, cohorts,
        (
            (str(Flavour.ANALYSIS), "For analysis: strict CSV with a descriptor"),
            (str(Flavour.SPREADSHEET), "For a spreadsheet: opens in place, formulas defused"),
        ),
        ((".", "2.5 in cells apart by commas"), (",", "2,5 in cells apart by semicolons")), ".",
        (
            "The tables hold everything that was logged: notes, names of people, and your place if you set one.",
            "Photos leave without place and camera; what they show stays.",
        ),
    )  # fmt: skip


def export_chosen(services: Services, out: Path, choice: SeasonChoice, watch: Any = None) -> Exported:
    """Remember an export."""
    fail_if_told(services)
    services.asked.append(("export_chosen", (out, choice)))
    return Exported(
        out / "datapackage.json", (("events", 3012), ("boxes", 24)), 310 if choice.photos else 0,
        str(out / "report.html") if choice.report else "", str(out / "dwca.zip") if choice.darwin_core else "",
    )  # fmt: skip


# ---- what comes in ----


def which_file(services: Services, path: str) -> str:
    """Return what a file is, by its name."""
    name = Path(path).name
    return "archive" if name.endswith(".zip") else "events" if name.startswith("events") else "notebook"


def preview_events(services: Services, path: Path, watch: Any = None) -> EventsView:
    """Return an exported log; `events-wrong.csv` has lines that cannot be taken."""
    is_wrong = "wrong" in path.name
    problems = tuple((n, "The id stands for another entry already.") for n in range(4, 12)) if is_wrong else ()
    kinds = tuple((f"Kind number {n}", 800 // n) for n in range(1, 16))
    return EventsView(
        str(path), 1200, 4, date(2025, 4, 2), date(2026, 11, 25), kinds, problems,
        "1,200 events would be imported; 4 are in the log already. 12 photos that it names are not in tables: an "
        "archive has them.", len(problems), 12,
    )  # fmt: skip


def import_events(services: Services, path: Path, watch: Any = None) -> EventsDone:
    """Remember an import."""
    services.asked.append(("import_events", path))
    safe = "It can be taken back as one step until something is logged or handed on."
    return EventsDone(1200, Notice("Imported: 1,200 events of events.csv.", safe), "1,200 events of events.csv")


COLUMNS = ("When", "Lid", "Done", "How many", "Remarks on what was seen in the box that day")
CELLS = (
    ("3.5.2024", "B01", "fed", "2", "one snail left over, moved to B02 in the evening"),
    ("4.5.2024", "B02", "wet", "", ""), ("4.5.2024", "B31", "fed", "3", ""), ("5.5.2024", "B01", "holiday", "", "away"),
)  # fmt: skip
GUESS = NotebookMapping(
    (("date", 0), ("box", 1), ("kind", 2), ("amount", 3), ("note", 4)), kinds=(("fed", "fed"),), order="dmy",
    delimiter=";", decimal=",",
)  # fmt: skip
ROLES = (
    ("date", "Date"), ("time", "Time of day"), ("box", "Box"), ("kind", "What was done"),
    ("amount", "How many, or how much"), ("note", "Note"), ("by", "Who"), ("field:prey", "Prey"),
    ("field:min_c", "Lowest temperature"),
)  # fmt: skip
KINDS = tuple((f"kind{n}", f"Kind number {n}") for n in range(40))


def notebook_view(
    services: Services, path: Path, mapping: NotebookMapping | None = None, watch: Any = None
) -> NotebookView:
    """Return a notebook; it asks for two words, then for a box that is not there."""
    services.asked.append(("notebook_view", mapping))
    fail_if_told(services)
    used = mapping or (replace(GUESS, columns=(("date", 0), ("box", 1))) if path.name == "bare.csv" else GUESS)
    told = dict(used.kinds)
    words = tuple((word, told.get(word, "")) for word in ("fed", "wet", "holiday"))
    unknown = [word for word, _ in words if word not in told]
    question = ""
    if used.column("kind") is None:
        words, question = (), "" if used.kind else "Which column says what was done, or what was done on every line?"
    elif unknown:
        question = f"What was done where it says {', '.join(f'“{word}”' for word in unknown)}?"
    is_open = bool(question) or not used.make_boxes
    problems = () if question or not is_open else ((4, "There is no box 'B31'."),)
    rows = ((2, "3 May 2024", "B01", "Fed", "2"), (3, "4 May 2024", "B02", "Misted", ""))
    return NotebookView(
        str(path), COLUMNS, CELLS, ROLES, (("fed", "Fed"), ("misted", "Misted"), *KINDS), used,
        path.name == "known.csv", words, question, 4, 0 if question else 2, 1, 1, () if is_open else ("B31",),
        () if question else tuple(NotebookRow(*row) for row in rows), problems, len(problems),
    )  # fmt: skip


def import_notebook(services: Services, path: Path, mapping: NotebookMapping | None = None, watch: Any = None) -> Flow:
    """Remember an import."""
    fail_if_told(services)
    services.asked.append(("import_notebook", (path, mapping)))
    notice = Notice(f"Imported: 2 lines of {path.name}. 1 was in the log already.", "It can be taken back as one step.")
    return Flow(Saved("i2", Undo("i2", "2 lines"), None), ("i0", "i1", "i2"), (("id31", "B31"),), notice)


def look_beside(services: Services) -> Looked:
    """Find nothing."""
    return Looked()


def repair_damaged(services: Services, fault: str) -> Repaired:
    """Remember a repair."""
    services.asked.append(("repair_damaged", fault))
    return repair_log(services)


NAMES = (
    "archive_now", "check_log", "export_chosen", "export_form", "import_events", "import_notebook", "keeping_view",
    "look_beside", "merge_archive", "notebook_view", "preview_events", "preview_merge", "preview_restore",
    "repair_damaged", "repair_log", "restore_archive", "undo_merge", "use_folder", "use_own_folder", "which_file",
)  # fmt: skip
KEEP_ACTIONS: dict[str, Any] = {name: globals()[name] for name in NAMES}

__all__ = ["KEEP_ACTIONS"]
