"""A row that is one reading, task, replacement or observation, with a column for each of its parts."""

from collections.abc import Iterator, Mapping
from typing import Any

from service.domain.record.readings import BY_QUANTITY
from service.mapping import components, convert, targets
from service.mapping.blocks import Fact, Row
from service.mapping.convert import Context, value_of
from service.mapping.plan import FAULT, LEFT_OUT, Plan, Source, source
from service.mapping.targets import Target

FORMS = {
    "readings": ("reading", ("quantity", "value"), {"when": "as_found"}),
    "tasks": ("task", ("task",), {"result": "done"}),
    "replacements": (
        "replacement",
        ("component", "kind", "note"),
        {"reason": "unknown", "condition": "unknown", "evidence": "seen"},
    ),
    "observations": ("observation", ("code", "note"), {}),
}
ITEM = "item."


def parts_of(
    row: Row, context: Context, plan: Plan, known: Mapping[str, str]
) -> Iterator[tuple[str, dict[str, Any], Source]]:
    """The parts of a visit that a row gives in columns of their own; what is wrong is a fault of its cell."""
    for name, (record, needed, defaults) in FORMS.items():
        given = {
            target: facts[0]
            for target, facts in row.facts.items()
            if target.startswith(f"{record}.") and targets.target(target).kind != "mark" and not _is_wide(target)
        }
        if any(f"{record}.{field}" in given for field in needed):
            part = _part(row, context, plan, given, defaults)
            if part is not None:
                first = next(iter(given.values()))
                yield name, _completed(part, known), source(row, first)
        elif given:
            _remark_unnamed(row, plan, record, needed, given)


def _remark_unnamed(row: Row, plan: Plan, record: str, needed: tuple[str, ...], given: Mapping[str, Fact]) -> None:
    names = " or ".join((", ".join(needed[:-1]), needed[-1])) if len(needed) > 1 else needed[0]
    for fact in given.values():
        if fact.column and fact.cell.text:
            plan.remark(LEFT_OUT, source(row, fact), fact.cell.text, f"a {record} is named by its {names}")


def _is_wide(name: str) -> bool:
    target = targets.target(name)
    return target.kind == "measure" and bool(target.dimensions)


def _part(
    row: Row, context: Context, plan: Plan, given: dict[str, Fact], defaults: dict[str, str]
) -> dict[str, Any] | None:
    part: dict[str, Any] = dict(defaults)
    for name, fact in given.items():
        field = name.partition(".")[2]
        if field == "unit":
            continue
        try:
            value = (
                _reading(given, context)
                if name == "reading.value"
                else value_of(targets.target(name), fact, context, row.year)
            )
        except ValueError as fault:
            plan.remark(FAULT, source(row, fact), fact.cell.text, f"{name}: {fault}")
            return None
        if field.startswith(ITEM):
            part.setdefault("item", {})[field.removeprefix(ITEM)] = value
        else:
            part[field] = value
    return part


def _reading(given: dict[str, Fact], context: Context) -> str:
    """The value of a reading by its quantity, with the unit of the column beside it."""
    quantity = given.get("reading.quantity")
    if quantity is None:
        raise ValueError("the quantity is missing")
    code = value_of(targets.target("reading.quantity"), quantity, context)
    target = Target(f"reading.{code}", "measure", dimensions=BY_QUANTITY[code].dimensions)
    unit = given.get("reading.unit")
    return convert.measure(target, given["reading.value"], context, unit.cell.text if unit else None)


def _completed(part: dict[str, Any], known: Mapping[str, str]) -> dict[str, Any]:
    """A part with its component's code, where only the kind is given, and the kind, where the unit lacks it."""
    written = part.get("component") or part.get("kind")
    return part if written is None else {**part, **components.named(written, known)}
