"""labels."""

from __future__ import annotations

import argparse
from pathlib import Path

from boxside.actions.print_labels import labels_bytes
from boxside.cli.options import Command, Context
from boxside.device.written import write_file


def _labels_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("boxes", nargs="*", metavar="BOX", help="codes of boxes (default: all that are open)")
    parser.add_argument("--out", required=True, metavar="FILE.pdf", help="where the labels go")


def _labels(context: Context) -> int:
    path = Path(context.asked.out)
    pdf = labels_bytes(context.services(), context.asked.boxes)
    write_file(path, pdf)
    context.say(f"{path}: print at 100 %, cut along the lines.", {"path": str(path)})
    return 0


LABELS = Command(
    "write labels for the lids, each with the box's code as a QR symbol, as a PDF", _labels, _labels_options
)
