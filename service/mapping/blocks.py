"""Find the tables in a sheet by their headings, and give each row of them by the columns of the mapping."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fnmatch import fnmatchcase

from service.mapping.model import ABOVE, SKIP, Column, Table
from service.mapping.names import key_of
from service.workbooks.cells import Book, Cell, Sheet

FEWEST, ENOUGH = 2, 0.6
DATE = "visit.date"
TEXTS = {"visit.work", "visit.internal_note", "visit.advice", "visit.complaint", "note"}
REFERRING = ("visit.date", "visit.time", "visit.reference", "unit.tag", "unit.place", "site.", "customer.")
VISITING = ("visit.", "reading.", "task.", "replacement.", "observation.")
DITTO = frozenset(('"', "''", "″", "”", "do", "do.", "ditto", '-"-', "〃"))
YEAR = re.compile(r"\W*((?:19|20)[0-9]{2})\W*")
NEGATIVE = re.compile(r"-[0-9.,]+|[0-9.,]+-|\([0-9.,]+\)")
MONTH = re.compile(
    r"\W*(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\W*((?:19|20)[0-9]{2})?\W*", re.IGNORECASE
)
TOTAL = re.compile(r"\b(?:sub)?totals?\b|\bsum\b|\bbalance\b|\bcarried (?:over|forward)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Fact:
    """One cell under a column, or a value that holds for the row; the latter has no place."""

    target: str
    cell: Cell
    column: int = 0
    meant: Column | None = None
    heading: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table: its facts by target, the year that a heading above it names, and what no column means."""

    sheet: str
    number: int
    table: Table
    facts: Mapping[str, list[Fact]]
    year: int | None = None

    def first(self, *targets: str) -> Fact | None:
        """The first fact with one of these targets."""
        return next((fact for name in targets for fact in self.facts.get(name, ())), None)

    @property
    def is_visit(self) -> bool:
        """Whether its table holds visits, or parts of them."""
        return any(name.startswith(VISITING) for name in self.targets)

    @property
    def targets(self) -> tuple[str, ...]:
        """What the columns of its table mean."""
        return (*(column.to for column in self.table.columns.values()), self.table.section or "")

    def text(self, *targets: str) -> str:
        """Its text, or an empty one."""
        found = self.first(*targets)
        return found.cell.text if found else ""


@dataclass(slots=True)
class Skipped:
    """What a sheet holds beside the rows of its tables: (row, column, text, why); cells of columns that are skipped."""

    cells: list[tuple[int, int, str, str]] = field(default_factory=list)
    columns: Counter[tuple[int, int, str]] = field(default_factory=Counter)


def is_in(sheet: str, patterns: tuple[str, ...]) -> bool:
    """Whether a sheet is named by one of the patterns; blanks and case do not count."""
    name = sheet.strip().casefold()
    return any(
        fnmatchcase(name, pattern.strip().casefold()) or name == pattern.strip().casefold() for pattern in patterns
    )


def heading_key(text: str) -> str:
    """A heading as headings are compared: words alone, with the marks that make a difference.

    >>> heading_key("Bath  temp. (°F)")
    'bath temp f'
    """
    return key_of(text.replace("#", " number ").replace("%", " percent "))


def headings_of(table: Table) -> dict[str, str]:
    """The headings of a table's columns by the form in which they are compared."""
    return {heading_key(heading): heading for heading in table.columns}


def match(table: Table, cells: Mapping[int, Cell]) -> dict[int, str]:
    """The table's columns in a row, if the row is its heading; else nothing."""
    known = headings_of(table)
    found: dict[int, str] = {}
    for column, cell in cells.items():
        heading = known.get(heading_key(cell.text)) if isinstance(cell.value, str) else None
        if heading is not None and heading not in found.values():
            found[column] = heading
    least = min(FEWEST, len(known))
    return found if len(found) >= max(least, ENOUGH * len(known)) else {}


def tags_in(facts: Mapping[str, list[Fact]], shapes: tuple[str, ...]) -> list[Fact]:
    """The different tags in the texts of a row; "GU-#" is a tag of GU-, or GU and a blank, and a number."""
    words = "|".join(re.escape(shape.rstrip("#").rstrip("- ")) for shape in shapes)
    pattern = re.compile(rf"\b(?:{words})[- ]?[0-9]+\b", re.IGNORECASE)
    every = [fact for each in facts.values() for fact in each if fact.column]
    found = {
        key_of(text): Fact("unit.tag", Cell(text), fact.column)
        for fact in every
        for text in pattern.findall(fact.cell.text)
    }
    return list(found.values())


def rows_of(book: Book, tables: tuple[Table, ...], skipped: dict[str, Skipped]) -> Iterator[Row]:
    """Every row of every table, in the order of the sheets."""
    for sheet in book.sheets:
        here = [table for table in tables if is_in(sheet.name, table.sheets)]
        if here:
            yield from SheetReader(sheet, here, skipped.setdefault(sheet.name, Skipped())).rows()


class SheetReader:
    """Reads one sheet from top to bottom: headings, rows, sections, years."""

    def __init__(self, sheet: Sheet, tables: list[Table], skipped: Skipped) -> None:
        self.sheet, self.tables, self.skipped = sheet, tables, skipped
        self.table: Table | None = None
        self.columns: dict[int, str] = {}
        self.above: dict[int, Cell] = {}
        self.year: int | None = None
        self.section: Fact | None = None
        self.unused_section: tuple[int, Fact] | None = None
        self.heading = 0
        self.labels: dict[str, Fact] = {}
        self.labels_used = False
        self.previous: dict[str, list[Fact]] = {}

    def rows(self) -> Iterator[Row]:
        """The rows of the sheet's tables."""
        for number, cells in self.sheet.rows():
            if self._begins(number, cells):
                continue
            if self.table is None:
                self._before(number, cells)
                continue
            if self._label(number, cells):  # the head of a further block
                continue
            row = self._row(self.table, number, cells)
            if row is not None:
                yield row
        self._note_section()

    def _begins(self, number: int, cells: Mapping[int, Cell]) -> bool:
        headed = self.sheet.headed(number, cells)
        for table in sorted(self.tables, key=lambda each: -len(match(each, headed))):
            columns = match(table, headed) or match(table, cells)
            if columns:
                if self.table is not None and table is not self.table:
                    self.section = None
                self.table, self.columns, self.above, self.previous = table, columns, {}, {}
                self.heading = number
                return True
        return False

    def _before(self, number: int, cells: Mapping[int, Cell]) -> None:
        """Cells above the first heading: labels with their values, a year, or a title."""
        titled = next((table.section for table in self.tables if table.section), None)
        if titled and len({cell.text for cell in cells.values()}) == 1:
            column, cell = next(iter(cells.items()))
            self._begin_section(number, Fact(titled, cell, column, heading="title"))
        elif not self._label(number, cells):
            self._note(number, cells, "above the table")

    def _begin_section(self, number: int, fact: Fact) -> None:
        self._note_section()
        self.section, self.unused_section = fact, (number, fact)

    def _note_section(self) -> None:
        """Note the heading of a section that has no row."""
        if self.unused_section is not None:
            number, fact = self.unused_section
            self._note(number, {fact.column: fact.cell}, "no row stands under it")
            self.unused_section = None

    def _label(self, number: int, cells: Mapping[int, Cell]) -> bool:
        """Whether the row holds labels with their values; those of a further unit end those of the one before."""
        known = {heading_key(label): to for table in self.tables for label, to in table.labels.items()}
        found: dict[str, Fact] = {}
        items = list(cells.items())
        for n, (column, cell) in enumerate(items):
            label, colon, rest = cell.text.partition(":")
            to = known.get(heading_key(label)) if isinstance(cell.value, str) else None
            if to is None:
                if not found and n == 0:
                    return False
            elif colon and rest.strip():
                found[to] = Fact(to, Cell(rest.strip()), column, heading=label)
            elif n + 1 < len(items):
                found[to] = Fact(to, items[n + 1][1], items[n + 1][0], heading=label)
        if any(to.startswith("unit.") for to in found):
            ended = [to for to in self.labels if to.startswith("unit.") and self.table is not None and self.labels_used]
            for to in ended:
                del self.labels[to]
            self.labels_used = False
        self.labels |= found
        self._note(number, _beside(cells, {fact.column for fact in found.values()}, known), "beside labels")
        return bool(found)

    def _row(self, table: Table, number: int, cells: Mapping[int, Cell]) -> Row | None:
        texts = [cell.text for cell in cells.values()]
        if len(set(texts)) == 1 and self._section(table, number, cells):
            return None
        mine = {column: cell for column, cell in cells.items() if column in self.columns}
        if not mine or any(texts[0].startswith(mark) for mark in table.skip_rows):
            self._note(number, cells, "skipped" if mine else "under no column of the mapping")
            return None
        facts: dict[str, list[Fact]] = {}
        dated = any(table.columns[self.columns[column]].to == DATE for column in mine)
        for column, heading in self.columns.items():
            meant = table.columns[heading]
            cell = self._with_above(column, meant, mine.get(column), dated=dated)
            if cell is not None and meant.to == SKIP:
                self.skipped.columns[self.heading, column, heading] += 1
                if NEGATIVE.fullmatch(cell.text):  # of an amount: the row is a credit
                    facts.setdefault(SKIP, []).append(Fact(SKIP, cell, column, meant, heading))
            elif cell is not None:
                facts.setdefault(meant.to, []).append(Fact(meant.to, cell, column, meant, heading))
        if self.previous and not dated and facts.keys() <= TEXTS and not any(map(TOTAL.search, texts)):
            facts |= self.previous  # a note that goes on in the next row
        self.previous = {name: each for name, each in facts.items() if name.startswith(REFERRING)}
        beside = {column: cell for column, cell in cells.items() if column not in self.columns}
        self._note(number, beside, "under no column of the mapping")
        self._add_common(table, facts)
        return Row(self.sheet.name, number, table, facts, self.year)

    def _with_above(self, column: int, meant: Column, cell: Cell | None, *, dated: bool) -> Cell | None:
        """The cell, or the one above where it is left blank or repeated by a mark; a row with a date begins anew."""
        repeated = cell is not None and cell.text.casefold() in DITTO
        if repeated or (cell is None and meant.blank == ABOVE and not dated):
            return self.above.get(column)
        if cell is not None:
            self.above[column] = cell
        return cell

    def _add_common(self, table: Table, facts: dict[str, list[Fact]]) -> None:
        """What holds for the row without standing in it: section, labels, the sheet's name, defaults."""
        self.labels_used, self.unused_section = True, None
        common = [self.section] if self.section else []
        common += [fact for fact in self.labels.values()]
        if table.sheet_name:
            common.append(Fact(table.sheet_name, Cell(self.sheet.name), heading="name of the sheet"))
        common += [Fact(to, Cell(text), heading="default") for to, text in table.defaults.items()]
        for fact in common:
            if fact.target not in facts:
                facts[fact.target] = [fact]
        if table.unit_in_text and "unit.tag" not in facts:
            found = tags_in(facts, table.unit_in_text)
            if len(found) == 1:
                facts["unit.tag"] = self.previous["unit.tag"] = found

    def _section(self, table: Table, number: int, cells: Mapping[int, Cell]) -> bool:
        """A row with one text: a year, a month, or what the following rows are about."""
        column, cell = next(iter(cells.items()))
        year = YEAR.fullmatch(cell.text) or MONTH.fullmatch(cell.text)
        if year:
            self.year = int(year[1]) if year[1] else self.year
            return True
        if table.section and (column not in self.columns or column == min(self.columns)):
            self._begin_section(number, Fact(table.section, cell, column, heading="section"))
            self.above = {}
            return True
        return False

    def _note(self, number: int, cells: Mapping[int, Cell], why: str) -> None:
        self.skipped.cells += [(number, column, cell.text, why) for column, cell in cells.items() if cell.text]


def _beside(cells: Mapping[int, Cell], values: set[int], labels: Mapping[str, str]) -> dict[int, Cell]:
    """The cells of a row of labels that are neither labels nor their values; none of a row without."""
    if not values:
        return {}
    others = {column: cell for column, cell in cells.items() if column not in values}
    return {n: cell for n, cell in others.items() if heading_key(cell.text.partition(":")[0]) not in labels}
