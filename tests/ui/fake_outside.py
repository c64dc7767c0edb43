"""What goes out and comes in on the invented colony: labels, scans, files that are shared; what was called."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.ui.fake_colony import Services, fail_if_told


def save_labels(services: Services, codes: Sequence[str] = ()) -> Path:
    """Remember which labels were wanted."""
    fail_if_told(services)
    services.asked.append(("save_labels", tuple(codes)))
    return Path(services.device.data_dir) / "exports" / "labels.pdf"


def check_scanning(services: Services) -> None:
    """Let labels be read."""
    fail_if_told(services)


def scan_label(services: Services, path: str) -> str:
    """Read the label of the third box."""
    services.asked.append(("scan_label", path))
    fail_if_told(services)
    return "id3"


def packed(services: Services, paths: Sequence[str]) -> tuple[str, ...]:
    """Pack what has no ending, as a folder."""
    return tuple(path if Path(path).suffix else f"{path}.zip" for path in paths)


def share_files(services: Services, paths: Sequence[str]) -> None:
    """Remember what was shared."""
    fail_if_told(services)
    services.asked.append(("share_files", tuple(paths)))


OUTSIDE_ACTIONS: dict[str, Any] = {
    one.__name__: one for one in (save_labels, check_scanning, scan_label, packed, share_files)
}

__all__ = ["OUTSIDE_ACTIONS"]
