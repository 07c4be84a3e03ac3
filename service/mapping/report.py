"""What an import of tables did, for people: on the screen, as JSON, and as a file to work off."""

import csv
from collections import Counter
from collections.abc import Iterable, Iterator
from io import StringIO
from typing import Any

from service.mapping.plan import FAULT, Plan, Remark, Source, counts
from service.mapping.run import Done
from service.rendering.csv_guard import guarded

HEADINGS = ("sheet", "cell", "row", "what", "text", "why")
RECORD_HEADINGS = ("sheet", "cell", "record", "kind", "field", "value")
MOST = 1000


def left_over(plan: Plan) -> bytes:
    """Every remark as CSV: what is wrong, what was kept as a note, what was not imported."""
    return _csv(
        HEADINGS,
        (
            (each.source.sheet, _place(each.source), str(each.source.row), each.level, each.given, each.message)
            for each in ordered(plan)
        ),
    )


def records(plan: Plan) -> bytes:
    """Every field that would be stored as CSV, with the cell that it is from."""
    return _csv(
        RECORD_HEADINGS,
        (
            (each.source_of(path).sheet, _place(each.source_of(path)), f"{n}", each.kind, path, text)
            for n, each in enumerate(plan.records, 1)
            for path, text in _fields(each.body)
        ),
    )


def _fields(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else None
    if parts is None:
        yield path, str(value)
        return
    for name, part in parts:
        yield from _fields(part, f"{path}.{name}" if path else str(name))


def _place(at: Source) -> str:
    return at.place if at.row else ""


def _csv(headings: Iterable[str], rows: Iterable[Iterable[str]]) -> bytes:
    written = StringIO()
    table = csv.writer(written)
    table.writerow(headings)
    table.writerows([guarded(part) for part in row] for row in rows)
    return written.getvalue().encode("utf-8-sig")


def ordered(plan: Plan) -> list[Remark]:
    """The remarks, faults first, then by place."""
    return sorted(plan.remarks, key=lambda each: (each.level != FAULT, each.source, each.message))


def marks(plan: Plan) -> list[tuple[str, int, int, str]]:
    """The texts for a marked copy, by sheet and cell."""
    return [
        (each.source.sheet, each.source.row, each.source.column, f"{each.level}: {each.message}")
        for each in ordered(plan)
        if each.source.row and each.message != "a comment"
    ]


def as_json(done: Done) -> dict[str, Any]:
    """The answer of the API."""
    remarks = ordered(done.plan)
    return {
        "plan": done.plan.key,
        "stored": done.stored,
        "records": dict(counts(done.plan.records)),
        "added": dict(done.tally.added),
        "changed": dict(done.tally.changed),
        "unchanged": dict(done.tally.unchanged),
        "faults": sum(each.level == FAULT for each in remarks) + done.tally.more_errors,
        "remarks": [_remark(each) for each in remarks[:MOST]],
        "more_remarks": max(0, len(remarks) - MOST),
    }


def _remark(each: Remark) -> dict[str, Any]:
    return {
        "level": each.level,
        "sheet": each.source.sheet,
        "cell": each.source.place if each.source.row else None,
        "row": each.source.row or None,
        "text": each.given,
        "message": each.message,
    }


def lines(done: Done, most: int) -> Iterator[str]:
    """The report for a terminal."""
    shown = ordered(done.plan)
    faults = [each for each in shown if each.level == FAULT]
    for each in faults[:most]:
        yield f"{each.source.sheet} {each.source.place}: {each.message} (given: {each.given!r})"
    if len(faults) > most:
        yield f"... and {len(faults) - most} more faults"
    for level, count in Counter(each.level for each in shown if each.level != FAULT).items():
        yield f"{level}: {count}"
    for word, counted in (
        ("new", done.tally.added),
        ("changed", done.tally.changed),
        ("unchanged", done.tally.unchanged),
    ):
        if counted:
            yield f"{word}: " + ", ".join(f"{n} {kind}{'s' if n > 1 else ''}" for kind, n in counted.items())
    yield from _of_visits(done.plan)
    yield f"plan: {done.plan.key}"


def _of_visits(plan: Plan) -> Iterator[str]:
    """What the visits hold, by quantity, task and kind of part."""
    found: dict[str, Counter[str]] = {"readings": Counter(), "tasks": Counter(), "replacements": Counter()}
    keys = {"readings": "quantity", "tasks": "task", "replacements": "component"}
    for record in plan.records:
        for name, counted in found.items():
            counted.update(part[keys[name]] for part in record.body.get(name, ()))
    for name, counted in found.items():
        if counted:
            yield f"{name}: " + ", ".join(f"{n} {what}" for what, n in counted.most_common())
