"""How large things may be: files, functions, complexity; and what belongs beside what."""

from __future__ import annotations

import ast
import statistics
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCES = sorted((ROOT / "mobileapp").rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))
MAX_LINES, MEDIAN_LINES = 450, 150
MAX_BODY, P90_BODY = 50, 20


def n_lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def bodies(paths: list[Path]) -> dict[str, int]:
    """Return the lines of every function's body, its docstring left out."""
    found = {}
    for path in paths:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                body = node.body[1:] if ast.get_docstring(node) is not None else node.body
                end = body[-1].end_lineno if body else None
                found[f"{path.relative_to(ROOT)}:{node.lineno} {node.name}"] = end - body[0].lineno + 1 if end else 0
    return found


def test_files_are_short() -> None:
    sizes = {str(path.relative_to(ROOT)): n_lines(path) for path in (*SOURCES, *TESTS)}
    assert {name: n for name, n in sizes.items() if n > MAX_LINES} == {}
    assert statistics.median(n_lines(path) for path in SOURCES) <= MEDIAN_LINES


def test_functions_are_short() -> None:
    sizes = bodies(SOURCES)
    assert {name: n for name, n in sizes.items() if n > MAX_BODY} == {}
    assert statistics.quantiles(sizes.values(), n=10)[-1] <= P90_BODY


def test_the_measure_of_a_body_sees_a_long_one(tmp_path: Path) -> None:
    """The control: a function of 60 lines is found, and its docstring is not counted."""
    global ROOT
    path = tmp_path / "long.py"
    path.write_text('def f() -> None:\n    """Say\n    so."""\n' + "    x = 1\n" * 60, encoding="utf-8")
    before, ROOT = ROOT, tmp_path
    try:
        assert list(bodies([path]).values()) == [60]
    finally:
        ROOT = before


def test_every_kv_file_lies_beside_the_python_that_loads_it() -> None:
    rules = sorted((ROOT / "mobileapp").rglob("*.kv"))
    alone = [str(path.relative_to(ROOT)) for path in rules if not path.with_suffix(".py").exists()]
    assert alone == []
    for path in rules:
        assert "load_kv" in path.with_suffix(".py").read_text(encoding="utf-8"), path


def test_rooms_that_may_not_be_are_not() -> None:
    """Names that say nothing about what is in them."""
    vague = {"utils", "util", "helpers", "common", "manager", "managers", "misc", "base"}
    assert [str(path) for path in (*SOURCES, *TESTS) if vague & {part.removesuffix(".py") for part in path.parts}] == []


@pytest.mark.parametrize("room", ["core", "catalog", "store", "actions", "cli", "device"])
def test_the_app_runs_without_asserts(room: str) -> None:
    """Under `python -O` asserts are gone: no code of the app may lean on one."""
    for path in sorted((ROOT / "mobileapp" / "boxside" / room).rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        assert not [node.lineno for node in ast.walk(tree) if isinstance(node, ast.Assert)], path
