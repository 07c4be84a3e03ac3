"""What a guess must ask: the order of dates, units of numbers without one, the time zone; and what it can find out."""

from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from typing import Any

from service.domain.quantities import DIMENSIONS
from service.mapping import targets
from service.mapping.blocks import heading_key
from service.mapping.free_text import Found, found_in
from service.mapping.guess_columns import date_column, likely_unit, values_without_unit
from service.mapping.guess_headings import Block
from service.mapping.model import ASK, Mapping
from service.workbooks.dates import BY_NEIGHBOURS, DAY_FIRST, MONTH_FIRST, both_ways


@dataclass(frozen=True, slots=True)
class Question:
    """What must be answered before the file can be imported: its place in the mapping, and the answers."""

    path: str
    text: str
    choices: tuple[str, ...] = ()


@dataclass(slots=True)
class Guess:
    """The mapping, with remarks by their path, and the questions."""

    mapping: Mapping
    remarks: dict[str, str] = field(default_factory=dict)
    questions: list[Question] = field(default_factory=list)

    def answered(self, path: str, answer: str) -> None:
        """Put an answer in its place."""
        name, _, key = path.partition(".")
        value: Any = {**getattr(self.mapping, name), key: answer} if key else answer
        self.mapping = replace(self.mapping, **{name: value})
        self.questions = [question for question in self.questions if question.path != path]


def ask_dates(made: Guess, blocks: list[Block]) -> None:
    """The order of day and month by separator: proven, settled by the rows around, or asked."""
    proofs: dict[str, Counter[str]] = defaultdict(Counter)
    examples: dict[str, str] = {}
    for block in blocks:
        day = date_column(block)
        for number, content in block.columns.items():
            if number == day or "date" in heading_key(content.heading) or "install" in heading_key(content.heading):
                for text in content.texts:
                    _prove(text, proofs, examples)
    orders = {}
    for separator, counted in proofs.items():
        orders[separator] = _order(counted)
        if orders[separator] == BY_NEIGHBOURS:
            made.remarks[f"dates.{separator}"] = (
                "Both orders occur; where a day can be read both ways the rows around it decide, or it is a fault."
            )
        if orders[separator] == ASK:
            text = f"Is {examples[separator]} day first or month first?"
            made.remarks[f"dates.{separator}"] = text
            made.questions.append(Question(f"dates.{separator}", text, (DAY_FIRST, MONTH_FIRST, BY_NEIGHBOURS)))
    made.mapping = replace(made.mapping, dates=orders)


def _prove(text: str, proofs: dict[str, Counter[str]], examples: dict[str, str]) -> None:
    ways = both_ways(text)
    if ways is None:
        return
    separator, day_first, month_first = ways
    kind = "either" if day_first and month_first else DAY_FIRST if day_first else MONTH_FIRST if month_first else "no"
    proofs[separator][kind] += 1
    if kind == "either" or separator not in examples:
        examples[separator] = text


def _order(counted: Counter[str]) -> str:
    if counted[DAY_FIRST] and counted[MONTH_FIRST]:
        least, most = sorted((counted[DAY_FIRST], counted[MONTH_FIRST]))
        if least > 0.05 * most:
            return BY_NEIGHBOURS
        return DAY_FIRST if counted[DAY_FIRST] == most else MONTH_FIRST
    if counted[DAY_FIRST] or counted[MONTH_FIRST]:
        return DAY_FIRST if counted[DAY_FIRST] else MONTH_FIRST
    return ASK


def ask_units(made: Guess, blocks: list[Block]) -> None:
    """The unit of numbers that have none, by quantity."""
    values: dict[str, list[float]] = defaultdict(list)
    for table, block in zip(made.mapping.tables, blocks, strict=True):
        for content in block.columns.values():
            column = table.columns.get(content.heading)
            if column is not None and column.unit is None and targets.target(column.to).kind == "measure":
                values[column.to] += values_without_unit(
                    content, percent="fraction" in targets.target(column.to).dimensions
                )
            if column is not None and column.read_text:
                _units_in_text(content.texts, values)
    units = {}
    for name, found in sorted(values.items()):
        if found:
            units[name.removeprefix("reading.")] = _unit_or_ask(made, name, found)
    made.mapping = replace(made.mapping, units=units)


def _units_in_text(texts: list[str], values: dict[str, list[float]]) -> None:
    for text in texts:
        for each in found_in(text):
            if each.target.startswith("reading.") and _is_open(each):
                values[each.target].append(float(each.number))


def _is_open(each: Found) -> bool:
    """Whether a number in a text has no unit; % is none of a strength, which is by mass or by volume."""
    return not each.unit or (each.unit == "%" and "fraction" not in targets.target(each.target).dimensions)


def _unit_or_ask(made: Guess, name: str, found: list[float]) -> str:
    quantity = name.removeprefix("reading.")
    likely = likely_unit(quantity, found) if name.startswith("reading.") else None
    if likely is not None:
        made.remarks[f"units.{quantity}"] = f"{_without_unit(found)}."
        return likely
    units = tuple(unit for dimension in targets.target(name).dimensions for unit in DIMENSIONS[dimension].units)
    which = f"Which one is it ({', '.join(units)})?"
    text = f"{_without_unit(found, f' of {quantity}'.replace('_', ' '))}. {which}"
    made.remarks[f"units.{quantity}"] = text
    made.questions.append(Question(f"units.{quantity}", text, units))
    return ASK


def _without_unit(found: list[float], what: str = "") -> str:
    """How many numbers have no unit, and between which they lie."""
    if len(found) == 1:
        return f"1 number{what} has no unit: {found[0]:g}"
    return f"{len(found)} numbers{what} have no unit: {min(found):g} to {max(found):g}"


def ask_zone(made: Guess, zones: list[str]) -> None:
    """The time zone of new sites."""
    if not any("site" in table.creates for table in made.mapping.tables):
        return
    if len(zones) == 1:
        made.mapping = replace(made.mapping, time_zone=zones[0])
        return
    text = "In which time zone are the sites, such as America/Denver?"
    made.remarks["time_zone"] = text
    made.mapping = replace(made.mapping, time_zone=ASK)
    made.questions.insert(0, Question("time_zone", text))
