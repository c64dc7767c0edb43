"""A logger's file before it is imported, as lines of text and as plain data."""

from __future__ import annotations

from boxside.core.values.ahead import ImportView


def preview_lines(view: ImportView) -> list[str]:
    """Return what would be imported, and every line that cannot be, for a shell."""
    lines = [f"Columns: {', '.join(view.columns)}"]
    for way in view.ways:
        mark = "*" if way.number == view.chosen else " "
        lines.append(
            f"{mark} way {way.number}: time from {way.when} as {way.order}, "
            f"temperature from {way.value} in {way.unit}, decimal {way.decimal}"
        )
    lines += [view.question] if view.question else []
    lines += [f"line {line}: {reason}" for line, reason in view.problems]
    if view.first_on and view.last_on:
        lines.append(f"{view.n_rows} measurements, {view.first_on.isoformat()} to {view.last_on.isoformat()}:")
        lines += [f"    {on.isoformat()}  {low:.1f} to {high:.1f} °C" for on, low, high in view.sample]
        lines.append(
            f"{view.n_new} days are new, {view.n_known} logged already, {len(view.partial)} not measured throughout."
        )
    return lines


def preview_json(view: ImportView) -> dict[str, object]:
    """Return the same as plain data, for programs."""
    return {
        "columns": list(view.columns),
        "ways": [
            {"way": w.number, "when": w.when, "value": w.value, "order": w.order, "decimal": w.decimal, "unit": w.unit}
            for w in view.ways
        ],
        "chosen": view.chosen,
        "question": view.question or None,
        "remembered": view.remembered,
        "problems": [{"line": line, "reason": reason} for line, reason in view.problems],
        "measurements": view.n_rows,
        "missing": view.n_missing,
        "new": view.n_new,
        "known": view.n_known,
        "partial": [on.isoformat() for on in view.partial],
        "first": view.first_on.isoformat() if view.first_on else None,
        "last": view.last_on.isoformat() if view.last_on else None,
        "ready": view.ready,
    }
