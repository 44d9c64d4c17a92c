"""Results as lines a person reads. Layer: service.cases."""

import json
from collections.abc import Sequence

from service.cases.compare import Deviation
from service.cases.verification import VERDICTS, Result

_HEADS = ("pointer", "expected", "found", "difference", "tolerance", "why", "origin")
_WIDEST = 60


def result_line(result: Result) -> str:
    """Return one line: verdict, time, name, file."""
    return f"{result.verdict:<14} {result.duration_s:7.3f} s  {result.loaded.name}  ({result.loaded.path})"


def report(results: Sequence[Result]) -> list[str]:
    """Return every case that is not the same, with the table of its deviations, and the count of all."""
    lines: list[str] = []
    for one in results:
        if one.verdict not in ("same", "not_run"):
            lines += ["", f"{one.verdict}: {one.loaded.name} ({one.loaded.path})"]
            lines += [f"  {fault}" for fault in one.faults]
            lines += [f"  {row}" for row in deviations_table(one)]
    counts = {verdict: sum(one.verdict == verdict for one in results) for verdict in VERDICTS}
    told = ", ".join(f"{count} {verdict}" for verdict, count in counts.items() if count)
    return [*lines, "", f"{len(results)} cases: {told or 'none found'}"]


def deviations_table(result: Result) -> list[str]:
    """Return the values that are not as expected as a table, the head first; nothing if there are none."""
    out = [] if result.replayed is None else [one for one in result.replayed.deviations if not one.within]
    if not out:
        return []
    rows = [_HEADS, *(_row(one) for one in out)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(_HEADS))]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]


def _row(one: Deviation) -> tuple[str, ...]:
    return (
        one.pointer,
        _value(one.expected),
        "" if one.reason == "leads_nowhere" else _value(one.found),
        "" if one.difference is None else f"{one.difference:+.6g}",
        "" if one.tolerance is None else f"{one.tolerance:.6g}",
        one.reason or "",
        one.origin,
    )


def _value(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= _WIDEST else text[: _WIDEST - 1] + "…"
