"""Texts that files and spreadsheets stumble over, drawn at random: formulas, quotes, breaks, bidi, NUL, half pairs."""

from __future__ import annotations

import random
from collections.abc import Iterator

PIECES = (
    "=", "+", "-", "@", "＝", "＋", "－", "＠", "=1+1", '=HYPERLINK("http://a.invalid","b")', "=cmd|' /C calc'!A0",
    "@SUM(1;2)", "'", "''", '"', '""', ",", ";", "\t", "|", "\n", "\r", "\r\n", "\x0b", "\x0c", "\x1c", "\x85",
    "\u2028", "\u2029", "\0", "\x01", "\x1a", "\x1b", "\x7f", "\ud800", "\udbff", "\udc00", "\udfff", "\ud83d\ude00",
    "\ufffd", "\ufffd0000", "\ufeff", "\u200b", "\u200e", "\u202e", "\u2066", "\u2069", "\xa0", " ", "  ", "é",
    "e\u0301", "Ω", "蛍", "🪲", "0", "1", "007", "1E5", "1,5", "1.5", "3-4", "1/2", "5%", "12:30", "2026-05-03",
    "DEC1", "mar", "true", "FALSE", "NaN", "inf", "null", "\\", "\\n", "{", "}", "[", "]", "<b>", "&amp;", "B07",
    "garden snail", "\U0010ffff", "\uffff", "\ufdd0",
)  # fmt: skip


def random_texts(n: int, seed: int) -> Iterator[str]:
    """Yield `n` texts, half of them put together from the pieces, half from any signs at all."""
    chance = random.Random(seed)
    for nth in range(n):
        if nth % 2:
            yield "".join(chance.choices(PIECES, k=chance.randint(0, 5)))
        else:
            yield "".join(chr(chance.randrange(0x11_0000 if chance.random() < 0.2 else 0x180)) for _ in
                          range(chance.randint(0, 8)))  # fmt: skip
