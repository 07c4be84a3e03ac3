"""A first guess of the mapping of a file: what it could find out, and what it must ask."""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from service.domain.quantities import DIMENSIONS
from service.mapping import targets
from service.mapping.blocks import heading_key
from service.mapping.guess_columns import columns_of, date_column, is_visit_table, likely_unit, values_without_unit
from service.mapping.guess_headings import LONGEST_HEADING, TAG, Block, blocks_of, merged
from service.mapping.guess_words import FLEET_WORDS, GENERIC_SHEET, NO_DATA, matching
from service.mapping.model import ASK, Mapping, Table
from service.usecases.known_names import Fleet
from service.workbooks.cells import Book, Sheet
from service.workbooks.dates import BY_NEIGHBOURS, DAY_FIRST, MONTH_FIRST, both_ways

TECHNICIANS = ("tech", "staff", "crew", "employee", "mechanic")
LONGEST_LABEL = 25
TAGS_IN = re.compile(r"\b([A-Z]{1,5})[- ][0-9]{1,6}\b")
LABELS = ("customer.", "site.", "unit.")


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


def guess(book: Book, fleet: Fleet, zones: Iterable[str]) -> Guess:
    """The guess for a file."""
    used = [sheet for sheet in book.sheets if sheet.cells and not sheet.hidden and not NO_DATA.search(sheet.name)]
    by_key: dict[frozenset[str], list[Block]] = defaultdict(list)
    for sheet in used:
        for block in blocks_of(sheet):
            by_key[block.key].append(block)
    groups = [(merged(blocks), list(dict.fromkeys(block.sheet for block in blocks))) for blocks in by_key.values()]
    listed = any(not is_visit_table(block) for block, _ in groups)
    tables = [_table(book, block, sheets, fleet, listed=listed) for block, sheets in groups]
    named = {name for table in tables for name in table.sheets}
    made = Guess(
        Mapping(tables=tuple(tables), ignored_sheets=tuple(s.name for s in book.sheets if s.name not in named))
    )
    if book.decimal_comma:
        made.mapping = replace(made.mapping, decimal="comma")
    _ask_dates(made, [block for block, _ in groups])
    _ask_units(made, [block for block, _ in groups])
    _ask_zone(made, sorted(set(zones)))
    return made


def _table(book: Book, block: Block, sheets: list[str], fleet: Fleet, *, listed: bool) -> Table:
    """One table of the mapping."""
    technicians = any(word in sheets[0].casefold() for word in TECHNICIANS)
    columns = columns_of(block, sheet_is_technicians=technicians)
    visits = is_visit_table(block)
    labels = _labels(book, sheets, block)
    named = {column.to for column in columns.values()} | set(labels.values())
    sheet_name = _sheet_name(sheets, named) if visits or len(sheets) > 1 else None
    section = _section(block, named) if visits else None
    named |= {name for name in (sheet_name, section) if name}
    shapes = () if named & {"unit.tag", "unit.place"} or not visits else _tag_shapes(block)
    named |= {"unit.tag"} if shapes else set()
    creates = _creates(named, visits=visits, listed=listed, known=bool(fleet.units))
    return Table(
        sheets=tuple(sheets),
        columns=columns,
        creates=creates,
        labels=labels,
        sheet_name=sheet_name,
        section=section,
        unit_in_text=shapes,
    )


def _tag_shapes(block: Block) -> tuple[str, ...]:
    """The shapes of tags in the texts of a table that has no column for units: letters and a number."""
    counted: Counter[str] = Counter()
    for content in block.columns.values():
        found = [set(TAGS_IN.findall(text)) for text in content.texts]
        counted.update(letters for each in found for letters in each)
    return tuple(f"{letters}-#" for letters, n in counted.items() if n >= 0.4 * block.rows)


def _sheet_name(sheets: list[str], named: set[str]) -> str | None:
    """What the names of the sheets stand for: customers, unless a column names them or the names are common ones."""
    own = [name for name in sheets if not GENERIC_SHEET.fullmatch(name.strip())]
    if len(own) < max(1, 0.7 * len(sheets)) or (len(sheets) == 1 and named & {"unit.tag"}):
        return None
    if all(TAG.fullmatch(name.strip()) for name in own):
        return None if "unit.tag" in named else "unit.tag"
    if named & {"customer.name", "customer.code", "site.name", "site.code"}:
        return None
    return "customer.name" if len(own) > 1 else None


def _section(block: Block, named: set[str]) -> str | None:
    """What rows with a single text stand for: units or customers, where no column names them."""
    texts = [text for text in block.singles if len(text) <= LONGEST_HEADING]
    if len(texts) < 2 or named & {"unit.tag", "unit.place"}:
        return None
    tagged = sum(TAG.search(text) is not None for text in texts)
    return "unit.tag" if tagged >= 0.5 * len(texts) or named & {"customer.name", "site.name"} else "customer.name"


def _creates(named: set[str], *, visits: bool, listed: bool, known: bool) -> tuple[str, ...]:
    """Who is added by a table: everybody in a list; in a log only where there is no list at all."""
    made = []
    records = {name.partition(".")[0] for name in named}
    if not visits or not (listed or known):
        if {"customer", "site"} & records:
            made += ["customer"]
            made += ["site"] if visits or {"site", "unit"} & records or not listed else []
        if made and (visits or "unit" in records):
            made += ["unit"]
    if "technician" in records or named & {"visit.technician", "site.technician"}:
        made += ["technician"]
    return tuple(made)


def _labels(book: Book, sheets: list[str], block: Block) -> dict[str, str]:
    """Labels with a value beside them, above the heading or between blocks: Phone: 555-0142."""
    found: dict[str, str] = {}
    headings = {heading_key(content.heading) for content in block.columns.values()}
    for sheet in book.sheets:
        if sheet.name in sheets:
            for label in _labels_in(sheet, headings):
                means = [to for to in matching(FLEET_WORDS, heading_key(label)) if to.startswith(LABELS)]
                if means:
                    found.setdefault(label, means[0])
    return found


def _labels_in(sheet: Sheet, headings: set[str]) -> Iterable[str]:
    for _, cells in sheet.rows():
        items = list(cells.values())
        keys = {heading_key(cell.text) for cell in items}
        if len(keys & headings) >= 2:
            continue
        for n, cell in enumerate(items):
            label, colon, rest = cell.text.partition(":")
            if not isinstance(cell.value, str) or len(label) >= LONGEST_LABEL:
                continue
            beside = n + 1 < len(items) and len(items) <= 6
            pair = n == 0 and len(items) == 2 and bool(matching(FLEET_WORDS, heading_key(label)))
            if (colon and (rest.strip() or beside)) or pair:
                yield label


def _ask_dates(made: Guess, blocks: list[Block]) -> None:
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


def _ask_units(made: Guess, blocks: list[Block]) -> None:
    """The unit of numbers that have none, by quantity."""
    values: dict[str, list[float]] = defaultdict(list)
    for table, block in zip(made.mapping.tables, blocks, strict=True):
        for content in block.columns.values():
            column = table.columns.get(content.heading)
            if column is not None and column.unit is None and targets.target(column.to).kind == "measure":
                values[column.to] += values_without_unit(content)
            if column is not None and column.read_text:
                _units_in_text(content.texts, values)
    units = {}
    for name, found in sorted(values.items()):
        if found:
            units[name.removeprefix("reading.")] = _unit_or_ask(made, name, found)
    made.mapping = replace(made.mapping, units=units)


def _units_in_text(texts: list[str], values: dict[str, list[float]]) -> None:
    from service.mapping.free_text import found_in

    for text in texts:
        for each in found_in(text):
            if each.target.startswith("reading.") and not each.unit:
                values[each.target].append(float(each.number))


def _unit_or_ask(made: Guess, name: str, found: list[float]) -> str:
    quantity = name.removeprefix("reading.")
    likely = likely_unit(quantity, found) if name.startswith("reading.") else None
    span = f"{min(found):g} to {max(found):g}"
    if likely is not None:
        made.remarks[f"units.{quantity}"] = f"{len(found)} numbers have no unit: {span}."
        return likely
    units = tuple(unit for dimension in targets.target(name).dimensions for unit in DIMENSIONS[dimension].units)
    which = f"Which one is it ({', '.join(units)})?"
    text = f"{len(found)} numbers of {quantity.replace('_', ' ')} have no unit: {span}. {which}"
    made.remarks[f"units.{quantity}"] = text
    made.questions.append(Question(f"units.{quantity}", text, units))
    return ASK


def _ask_zone(made: Guess, zones: list[str]) -> None:
    if not any("site" in table.creates for table in made.mapping.tables):
        return
    if len(zones) == 1:
        made.mapping = replace(made.mapping, time_zone=zones[0])
        return
    text = "In which time zone are the sites, such as America/Denver?"
    made.remarks["time_zone"] = text
    made.mapping = replace(made.mapping, time_zone=ASK)
    made.questions.insert(0, Question("time_zone", text))
