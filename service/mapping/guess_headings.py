"""Find the headings of a file's tables, without a mapping, and look at what stands under them."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice

from service.mapping.blocks import DITTO, MONTH, TOTAL, YEAR, heading_key
from service.mapping.guess_words import (
    FLEET_WORDS,
    MONEY,
    READING_WORDS,
    TASK_WORDS,
    UNIT_TOKENS,
    VISIT_WORDS,
    matching,
)
from service.workbooks import dates, numbers
from service.workbooks.cells import OVER, Cell, Sheet
from service.workbooks.dates import Ambiguous, DateStyle, NoYear

EVERY = (*VISIT_WORDS, *READING_WORDS, *TASK_WORDS, *FLEET_WORDS)
MONEY_WORD = re.compile(rf"(?:.* )?(?:{MONEY})(?: .*)?")
QUANTITY_WORD = re.compile(r"qty|quantity|hours?|hrs?|miles|mileage")
LONGEST_HEADING, MOST_LOOKED_AT, MOST_SEARCHED = 40, 6000, 2000
MOSTLY, SOME = 0.6, 0.3
TAG = re.compile(r"[A-Za-z]{1,5}[ \-#]?[0-9OoIl]{1,6}[A-Za-z]?")


@dataclass(slots=True)
class Content:
    """What stands in a column: how many cells, and of which sorts."""

    heading: str
    cells: list[Cell] = field(default_factory=list)
    beside: list[list[str]] = field(default_factory=list)
    blanks: int = 0

    def share(self, test: "object") -> float:
        """Which part of the cells passes a test."""
        return sum(bool(test(cell)) for cell in self.cells) / len(self.cells) if self.cells else 0.0  # type: ignore[operator]

    def rows_with(self, text: str) -> list[list[str]]:
        """The texts beside the cells with a text."""
        return [beside for cell, beside in zip(self.cells, self.beside, strict=True) if cell.text == text][:50]

    @property
    def texts(self) -> list[str]:
        """The cells as text."""
        return [cell.text for cell in self.cells]


@dataclass(slots=True)
class Block:
    """A table in a sheet: its heading row, its columns, and the texts that stand alone in a row above others."""

    sheet: str
    row: int
    columns: dict[int, Content]
    singles: list[str] = field(default_factory=list)
    single: str = ""
    title: str = ""
    rows: int = 0

    @property
    def key(self) -> frozenset[str]:
        """The headings: tables with the same ones are the same."""
        return frozenset(heading_key(content.heading) for content in self.columns.values())


def bare(heading: str) -> str:
    """A heading without the unit at its end.

    >>> bare("Bath (F)"), bare("Glycol %")
    ('bath', 'glycol')
    """
    words = heading_key(heading.rpartition(OVER)[2]).split()
    while len(words) > 1 and matching(UNIT_TOKENS, words[-1]):
        words.pop()
    return " ".join(words)


def unit_of(heading: str) -> str | None:
    """The unit at the end of a heading, else of the heading over it.

    >>> unit_of("Bath (F)"), unit_of("Temps (F) > Bath"), unit_of("Bath")
    ('degF', 'degF', None)
    """
    over, _, own = heading.rpartition(OVER)
    words = heading_key(own).split()
    found = matching(UNIT_TOKENS, words[-1]) if words else []
    if over and not found:
        return unit_of(over)
    return found[0] if found and (len(words) > 1 or words[0] not in ("a", "c", "f", "g", "l", "v")) else None


def readings_of(heading: str) -> list[str]:
    """The ways to read a heading: whole, without its unit, without brackets, and each part of one with a slash.

    >>> readings_of("Cond. cleaned (Y/N)"), readings_of("Location / unit")
    (['cond cleaned y n', 'cond cleaned'], ['location unit', 'location', 'unit'])
    """
    own = heading.rpartition(OVER)[2]
    outside = re.sub(r"\([^)]*\)", " ", own)
    parts = outside.split("/") if "/" in outside else []
    ways = (heading_key(heading), heading_key(own), bare(heading), heading_key(outside), *map(heading_key, parts))
    return [way for way in dict.fromkeys(ways) if way]


def is_heading(text: str) -> bool:
    """Whether the words of a cell are known as a heading."""
    if len(text) > LONGEST_HEADING:
        return False
    return any(
        matching(EVERY, way) or MONEY_WORD.fullmatch(way) or QUANTITY_WORD.fullmatch(way) for way in readings_of(text)
    )


def is_date(cell: Cell) -> bool:
    """Whether a cell holds a day, perhaps without its year, perhaps in one of two orders."""
    if dates.day_of(cell.value) is not None:
        return True
    if isinstance(cell.value, bool | int | float):
        return isinstance(cell.value, int) and cell.value in range(36_500, 55_000)
    try:
        dates.parse(cell.text, DateStyle())
    except (Ambiguous, NoYear):
        return True
    except ValueError:
        return False
    return True


def is_number(cell: Cell) -> bool:
    """Whether a cell holds a number, with a unit or not."""
    if isinstance(cell.value, int | float) and not isinstance(cell.value, bool):
        return True
    try:
        return len(numbers.parse_either(cell.text).unit) < 12
    except ValueError:
        return False


def blocks_of(sheet: Sheet) -> Iterator[Block]:
    """The tables of a sheet."""
    block: Block | None = None
    title = ""
    for seen, (number, cells) in enumerate(islice(sheet.rows(), MOST_LOOKED_AT)):
        if (seen < MOST_SEARCHED or block is None) and _heads(cells, block):
            if block is not None and block.rows:
                yield block
            columns = {column: Content(cell.text) for column, cell in sheet.headed(number, cells).items()}
            block = Block(sheet.name, number, columns, title=title)
        elif block is not None:
            _add(block, cells)
        texts = {cell.text for cell in cells.values()}
        title = texts.pop() if len(texts) == 1 else ""
    if block is not None and block.rows:
        yield block


def _heads(cells: Mapping[int, Cell], block: Block | None) -> bool:
    texts = [cell.text for cell in cells.values() if isinstance(cell.value, str)]
    known = sum(is_heading(text) for text in texts)
    if len(texts) < len(cells) or len(set(texts)) < 2 or any(text.endswith(":") for text in texts):
        return False
    if any(len(text) > LONGEST_HEADING for text in texts):
        return False
    if _are_labels(texts):
        return False
    least = 2 if block is None else max(3, len(block.columns) // 2)
    return known >= min(least, len(texts)) and known >= 0.5 * len(texts)


def _are_labels(texts: list[str]) -> bool:
    """Whether texts are pairs of a label and its value: Make, Norvane, Model, K4."""
    known = [is_heading(text) for text in texts]
    return len(known) % 2 == 0 and all(known[::2]) and not any(known[1::2])


def _add(block: Block, cells: Mapping[int, Cell]) -> None:
    texts = {cell.text for cell in cells.values()}
    first = min(cells)
    if len(texts) == 1 and (first not in block.columns or first == min(block.columns)):
        text = texts.pop()
        if not (YEAR.fullmatch(text) or MONTH.fullmatch(text)):
            block.single = text
    if len(cells) < 2 or any(TOTAL.search(text) for text in texts):
        return
    block.rows += 1
    if block.single:
        block.singles.append(block.single)
        block.single = ""
    for column, content in block.columns.items():
        cell = cells.get(column)
        if len(content.cells) >= MOST_LOOKED_AT:
            continue
        if cell is None or cell.text.casefold() in DITTO:
            content.blanks += 1
        else:
            content.cells.append(cell)
            content.beside.append([other.text for n, other in cells.items() if n != column and len(other.text) > 3])


def merged(blocks: list[Block]) -> Block:
    """Blocks with the same headings as one."""
    by_key: dict[str, Content] = {}
    for block in blocks:
        for content in block.columns.values():
            key = heading_key(content.heading)
            joint = by_key.setdefault(key, Content(content.heading))
            joint.cells += content.cells
            joint.beside += content.beside
            joint.blanks += content.blanks
    made = Block(blocks[0].sheet, blocks[0].row, dict(enumerate(by_key.values(), 1)))
    made.rows = sum(block.rows for block in blocks)
    made.singles = [text for block in blocks for text in block.singles]
    return made
