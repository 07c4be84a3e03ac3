"""One cell as the value of one field; a ValueError says what is wrong and what would be right."""

import re
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from service.domain.instants import parse_day
from service.domain.quantities import DIMENSIONS, parse_quantity
from service.domain.record.imprecise_days import parse_imprecise_day
from service.domain.unit_names import unit_named
from service.mapping.blocks import Fact
from service.mapping.model import ASK, Mapping, Texts
from service.mapping.targets import Target
from service.schemas.suggestions import did_you_mean
from service.workbooks import dates, numbers
from service.workbooks.cells import Cell
from service.workbooks.dates import DateStyle

EARLIEST, EARLIEST_VISIT = date(1950, 1, 1), date(1990, 1, 1)
YES = frozenset(
    (
        "x",
        "xx",
        "y",
        "yes",
        "ok",
        "done",
        "true",
        "1",
        "✓",
        "✔",
        "√",
        "☑",
        "☒",
        "true",
        "complete",
        "completed",
        "cleaned",
        "checked",
        "replaced",
        "changed",
        "new",
    )
)
NO = frozenset(("", "n", "no", "0", "false", "-", "--", "none", "nothing"))
NOT_DONE, NOT_NEEDED = frozenset(("not done", "skipped", "no time")), frozenset(("n/a", "na", "not needed", "n.a."))
CLOCK = re.compile(r"([0-9]{1,2})(?:[:.h]?([0-9]{2}))?(?::[0-9]{2})? *([ap])?\.?m?\.?", re.IGNORECASE)
UNKNOWN = frozenset(("?", "??", "unknown", "unk", "n/a", "na", "-", "--", "tbd"))


@dataclass(frozen=True, slots=True)
class Context:
    """What holds for the file: the mapping, today's date, how days are written, what a comma in a number is."""

    mapping: Mapping
    today: date
    epoch: date
    decimal_comma: bool

    def style(self, year: int | None) -> DateStyle:
        """How days are written under a heading of this year."""
        orders = {mark: order for mark, order in self.mapping.dates.items() if order != ASK}
        return DateStyle(orders, year, self.epoch)


def value_of(target: Target, fact: Fact, context: Context, year: int | None = None) -> Any:
    """The value of a cell for its field, as the API takes it."""
    written = dictionary(fact)
    if written is not None:
        fact = replace(fact, cell=Cell(written))
    if target.kind in ("day", "month"):
        return day_or_month(target, fact, context, year)
    return _plain(target, fact, context)


def _plain(target: Target, fact: Fact, context: Context) -> Any:
    text = fact.cell.text
    match target.kind:
        case "measure":
            return measure(target, fact, context)
        case "choice":
            return choice(target.choices, text)
        case "time":
            return clock(fact)
        case "flag":
            return flag(text)
        case "number" | "count":
            number = float(numbers.parse(text, decimal_comma=context.decimal_comma).text)
            return int(number) if number.is_integer() else number
        case "weekdays":
            return [
                choice(target.choices, _weekday(part, target.choices))
                for part in re.split(r"[,;/&+]| and ", text)
                if part.strip()
            ]
        case _:
            return text


def dictionary(fact: Fact) -> str | None:
    """What the mapping's values make of the cell."""
    if fact.meant is None or not fact.meant.values:
        return None
    text = fact.cell.text
    by_case = {written.casefold(): meant for written, meant in fact.meant.values.items()}
    return fact.meant.values.get(text, by_case.get(text.casefold()))


def _weekday(text: str, days: tuple[str, ...]) -> str:
    short = text.strip().casefold().rstrip(".s")
    return next((day for day in days if len(short) > 1 and day.startswith(short)), text.strip())


def choice(choices: tuple[str, ...], text: str) -> str:
    """The choice that is written; ValueError lists them.

    >>> choice(("clean", "very_dirty"), "Very dirty")
    'very_dirty'
    """
    written = re.sub(r"[\s\-]+", "_", text.strip().casefold())
    if written in choices:
        return written
    raise ValueError(f"{text!r} is not one of: {', '.join(choices)}.{did_you_mean(written, choices)}")


def flag(text: str) -> bool:
    """Yes or no."""
    written = text.casefold()
    if written in YES or written in NO:
        return written in YES
    raise ValueError(f"{text!r} is neither yes nor no")


def mark(text: str) -> str | None:
    """What a mark for a task or part means: done, not_done, not_needed, None for nothing; ValueError for a text."""
    written = text.casefold().strip(".! ")
    for words, meant in ((YES, "done"), (NO, None), (NOT_DONE, "not_done"), (NOT_NEEDED, "not_needed")):
        if written in words:
            return meant
    raise ValueError(f"{text!r} is no mark such as x, yes, no or n/a")


def clock(fact: Fact) -> str:
    """A time of day, HH:MM."""
    value = fact.cell.value
    if isinstance(value, datetime | time):
        return value.strftime("%H:%M")
    if isinstance(value, float) and 0 <= value < 1:
        return (datetime(2000, 1, 1) + timedelta(days=value)).strftime("%H:%M")  # noqa: DTZ001 - a time of day alone
    found = CLOCK.fullmatch(fact.cell.text)
    hour, minute = (int(found[1]), int(found[2] or 0)) if found else (99, 0)
    if found and found[3] and 1 <= hour <= 12:
        hour = hour % 12 + (12 if found[3].lower() == "p" else 0)
    if hour > 23 or minute > 59 or (found and found[2] is None and found[3] is None):
        raise ValueError(f"{fact.cell.text!r} is no time of day; write it as 14:30")
    return f"{hour:02}:{minute:02}"


def day_or_month(target: Target, fact: Fact, context: Context, year: int | None) -> str:
    """A day YYYY-MM-DD, or where a month or year is enough what is written of it."""
    text = fact.cell.text
    if target.kind == "month" and re.fullmatch(r"(19|20)[0-9]{2}(-[0-9]{2})?", text):
        return parse_imprecise_day(text)
    found = dates.day_of(fact.cell.value)
    if found is None and isinstance(fact.cell.value, int | float) and not re.fullmatch(dates.COMPACT, text):
        found = dates.of_serial(fact.cell.value, context.style(year))
    return checked(found or dates.parse(text, context.style(year)), target, context).isoformat()


def checked(found: date, target: Target, context: Context) -> date:
    """The day, if it can be one of this field: visits since 1990, nothing done after tomorrow."""
    earliest = EARLIEST_VISIT if target.name == "visit.date" else EARLIEST
    latest = context.today + timedelta(days=1) if target.past or target.name == "visit.date" else date(2199, 12, 31)
    if found < earliest or found > latest:
        limit = f"before {earliest}" if found < earliest else f"after today, {context.today}"
        raise ValueError(f"{found} is {limit}; check the year")
    return parse_day(found.isoformat())


def measure(target: Target, fact: Fact, context: Context, unit: str | None = None) -> str:
    """A number with its unit: the unit of the cell, of its format, of its column, or of the mapping."""
    value = fact.cell.value
    if isinstance(value, bool):
        raise ValueError(f"{fact.cell.text!r} is not a number")
    shown = numbers.unit_in_format(fact.cell.number_format) if isinstance(value, int | float) else ""
    text = f"{value:.12g}" if isinstance(value, int | float) else fact.cell.text
    alone = context.mapping.decimal is None and numbers.WITH_COMMA.fullmatch(text) is not None
    comma = (context.decimal_comma or alone) and not isinstance(value, int | float)
    number = numbers.parse(text, decimal_comma=comma)
    digits = number.text
    if shown == "%" and isinstance(value, int | float):
        digits = f"{value * 100:.10g}"
    default = unit or (fact.meant.unit if fact.meant else None) or _of_mapping(target, context.mapping.units)
    written = number.unit.strip("()[] .") or shown
    return quantity(target, digits, written, default)


def _of_mapping(target: Target, units: Texts) -> str | None:
    found = units.get(target.name) or units.get(target.field) or units.get(target.field.rpartition(".")[2])
    return None if found == ASK else found


def quantity(target: Target, digits: str, written: str, default: str | None) -> str:
    """Number and unit as the API reads them; ValueError where the unit is missing, unknown or of another kind."""
    units = [unit for name in target.dimensions for unit in DIMENSIONS[name].units]
    named = unit_named(written) if written else None
    if written in ("°", "deg", "degrees") and default in ("degF", "degC"):
        named = default
    if named == "%" and "%" not in units:
        named = default if default in ("mass%", "vol%") else None
    if named in ("degF", "degC") and named not in units and f"delta{named[-1]}" in units:
        named = f"delta{named[-1]}"
    if not written:
        named = unit_named(default) if default else None
        if named is None:
            known = f"{target.field!r} (one of: {', '.join(units)})"
            raise ValueError(f"{digits} has no unit; name it in the mapping under [units], {known}")
    if named is None or named not in units:
        raise ValueError(
            f"{written or default!r} is not a unit of {target.field.replace('_', ' ')} (one of: {', '.join(units)})"
        )
    made = f"{digits} {named}"
    parse_quantity(made, *target.dimensions)
    return made
