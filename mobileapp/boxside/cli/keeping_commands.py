"""archive, restore, merge, check, repair."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from pathlib import Path
from typing import Any

from boxside.actions import check_log, keep_archives, make_archive, merge_archive, repair_log
from boxside.cli.options import Command, Context
from boxside.core.values.errors import EntryError
from boxside.core.values.keeping import ArchiveView, Conflict, Contents, Merged, MergePreview
from boxside.core.values.views import Notice


def _archive_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", nargs="?", help="the archive to make, or with --verify to read")
    parser.add_argument(
        "--verify", action="store_true", help="read that archive to its last byte and say what it holds"
    )
    parser.add_argument("--into", metavar="DIR", help="have archives made into this folder; `none` for no longer")
    parser.add_argument("--if-due", action="store_true", help="make the archive that is due into the chosen folder")


def _archive(context: Context) -> int:
    asked = context.asked
    if sum((asked.file is not None, asked.into is not None, asked.if_due)) != 1 or (asked.verify and not asked.file):
        raise EntryError("Say FILE, --into DIR or --if-due, one of them. Nothing was written.")
    if asked.into is not None:
        return _into(context, asked.into)
    if asked.if_due:
        return _if_due(context)
    services = context.services()
    if asked.verify:
        return _say_archive(context, make_archive.verify_archive(services, Path(asked.file)), "Whole")
    return _say_archive(context, make_archive.make_archive(services, Path(asked.file)), "Written and read back")


def _into(context: Context, folder: str) -> int:
    view = keep_archives.choose_archive_folder(context.services(), None if folder == "none" else Path(folder))
    said = f"Archives are made into {view.folder} (every: {view.every})." if view.folder else "None is made by itself."
    context.say(said, {"folder": view.folder, "every": view.every})
    return 0


def _if_due(context: Context) -> int:
    made = keep_archives.archive_if_due(context.services())
    if isinstance(made, Notice):
        context.say(_text(made), {"made": False, "notice": asdict(made)})
        return 1
    if made is None:
        context.say("No archive is due, or the log has not grown since the last one.", {"made": False})
        return 0
    return _say_archive(context, made, "Written and read back")


def _say_archive(context: Context, view: ArchiveView, done: str) -> int:
    lines = [f"{done}: {view.path}", f"  {view.text}", f"  {view.n_bytes:,} bytes, sha256 {view.sha256}"]
    lines += [_text(view.notice)] if view.notice else []
    data = {"path": view.path, "bytes": view.n_bytes, "sha256": view.sha256, **_contents(view.contents)}
    context.say("\n".join(lines), {"made": True, **data})
    return 1 if view.notice else 0


def _file_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="the archive")
    parser.add_argument("--preview", action="store_true", help="say what it would bring, and change nothing")


def _restore(context: Context) -> int:
    services, path = context.services(), Path(context.asked.file)
    if context.asked.preview:
        preview = merge_archive.preview_restore(services, path)
        stops = [_text(preview.stops)] if preview.stops else []
        context.say("\n".join([preview.text, *stops]), {**_contents(preview.contents), "stops": _notice(preview.stops)})
        return 1 if preview.stops else 0
    return _say_merged(context, merge_archive.restore_archive(services, path))


def _merge_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", nargs="?", help="the archive")
    parser.add_argument("--preview", action="store_true", help="say what it would bring, and change nothing")
    parser.add_argument("--undo", action="store_true", help="take the last merge back as one step")


def _merge(context: Context) -> int:
    asked, services = context.asked, context.services()
    if asked.undo == (asked.file is not None) or (asked.undo and asked.preview):
        raise EntryError("Say FILE or --undo, one of them. Nothing was changed.")
    if asked.undo:
        notice = merge_archive.undo_merge(services)
        context.say(_text(notice), {"undone": True, "what": notice.what})
        return 0
    if asked.preview:
        preview = merge_archive.preview_merge(services, Path(asked.file))
        stops = [_text(preview.stops)] if preview.stops else []
        context.say("\n".join([preview.text, *_conflict_lines(preview), *stops]), _preview(preview))
        return 1 if preview.stops else 0
    return _say_merged(context, merge_archive.merge_archive(services, Path(asked.file)))


def _say_merged(context: Context, merged: Merged) -> int:
    lines = [_text(merged.notice), *_conflict_lines(merged.preview)]
    context.say("\n".join(lines), {**_preview(merged.preview), "undo": merged.undo})
    return 0


def _conflict_lines(preview: MergePreview) -> list[str]:
    lines = [f"  {conflict.what}. {conflict.do}" for conflict in preview.conflicts]
    more = preview.n_conflicts - len(preview.conflicts)
    return [*lines, f"  and {more} more"] if more > 0 else lines


def _check(context: Context) -> int:
    report = check_log.check_log(context.services())
    lines = [
        f"{line.what:8} {line.n:9,}  {f'{line.n_bad:,} bad: ' if line.n_bad else 'as written'}{line.detail}".rstrip()
        for line in report.lines
    ]
    data = {"sound": report.is_sound, "lines": [asdict(line) for line in report.lines]}
    context.say("\n".join([*lines, _text(report.notice)]), data)
    return 0 if report.is_sound else 1


def _repair(context: Context) -> int:
    done = repair_log.repair_log(context.services())
    data = {"events": done.n_events, "salvaged": done.n_salvaged, "gone": done.n_unreadable, "aside": done.aside}
    context.say(_text(done.notice), data)
    return 0


def _text(notice: Notice) -> str:
    return " ".join(part for part in (notice.what, notice.safe, notice.do) if part)


def _notice(notice: Notice | None) -> str:
    return _text(notice) if notice else ""


def _contents(contents: Contents) -> dict[str, Any]:
    return {
        "events": contents.n_events,
        "photos": contents.n_photos,
        "boxes": contents.n_boxes,
        "newest_ms": contents.newest_ms,
        "missing_photos": contents.n_missing,
    }


def _preview(preview: MergePreview) -> dict[str, Any]:
    def said(conflict: Conflict) -> dict[str, str]:
        return {"kind": str(conflict.kind), "what": conflict.what, "do": conflict.do}

    return {
        "archive": _contents(preview.contents),
        "new_events": preview.n_new_events,
        "known_events": preview.n_known_events,
        "new_photos": preview.n_new_photos,
        "conflicts": [said(conflict) for conflict in preview.conflicts],
        "stops": _notice(preview.stops),
    }


ARCHIVE = Command(
    "write everything into one file, photos included, and prove it by reading it back", _archive, _archive_options
)
RESTORE = Command("fill an empty log from an archive; --preview shows what it holds", _restore, _file_options)
MERGE = Command(
    "take in what is new in another log's archive, all or nothing; --undo takes it back", _merge, _merge_options
)
CHECK = Command("say whether every entry, photo and copy is what was written", _check)
REPAIR = Command("make a damaged log whole from its newest copy and what can still be read", _repair)
