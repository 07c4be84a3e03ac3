"""A first guess of the mapping of a file: what it could find out, and what it must ask."""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import replace
from typing import NamedTuple

from service.mapping.blocks import heading_key
from service.mapping.guess_columns import columns_of, is_visit_table
from service.mapping.guess_headings import LONGEST_HEADING, TAG, Block, blocks_of, is_heading, merged
from service.mapping.guess_questions import Guess, Question, ask_dates, ask_units, ask_zone
from service.mapping.guess_words import FLEET_WORDS, GENERIC_SHEET, NO_DATA, matching
from service.mapping.model import Mapping, Table
from service.usecases.transfer.known_names import Fleet
from service.workbooks.cells import Book, Sheet

__all__ = ["Guess", "Question", "guess"]
TECHNICIANS = ("tech", "staff", "crew", "employee", "mechanic")
LONGEST_LABEL, MOST_PAIRED = 25, 8
TAGS_IN = re.compile(r"\b([A-Z]{1,5})[- ][0-9]{1,6}\b")
TAGGED = re.compile(rf"(?:[a-z]+:? )?(?=[a-z]+[ \-#]?[0-9]){TAG.pattern}\b", re.IGNORECASE)
WHOSE = "customer of each site"  # a list names it
LABELS = ("customer.", "site.", "unit.")


class Group(NamedTuple):
    """Tables with the same headings: as one, their sheets, and the titles above those that share a sheet."""

    block: Block
    sheets: list[str]
    titles: list[str]


def guess(book: Book, fleet: Fleet, zones: Iterable[str]) -> Guess:
    """The guess for a file."""
    used = [sheet for sheet in book.sheets if sheet.cells and not sheet.hidden and not NO_DATA.search(sheet.name)]
    by_key: dict[frozenset[str], list[Block]] = defaultdict(list)
    for sheet in used:
        for block in blocks_of(sheet):
            by_key[block.key].append(block)
    groups = [_group(blocks) for blocks in by_key.values()]
    lists = [block for block, _, _ in groups if not is_visit_table(block)]
    recorded = [_records(block) for block in lists]
    listed = frozenset(record for records in recorded for record in records) | _recorded(fleet)
    if any({"customer", "site"} <= records for records in recorded):
        listed |= {WHOSE}
    headings = [each.block.key for each in groups]
    tables = [_table(book, group, listed, headings) for group in groups]
    named = {name for table in tables for name in table.sheets}
    made = Guess(
        Mapping(tables=tuple(tables), ignored_sheets=tuple(s.name for s in book.sheets if s.name not in named))
    )
    if book.decimal_comma:
        made.mapping = replace(made.mapping, decimal="comma")
    ask_dates(made, [group.block for group in groups])
    ask_units(made, [group.block for group in groups])
    ask_zone(made, sorted(set(zones)))
    return made


def _group(blocks: list[Block]) -> Group:
    counted = Counter(block.sheet for block in blocks)
    titles = [block.title for block in blocks if counted[block.sheet] > 1]
    return Group(merged(blocks), list(counted), titles)


def _records(block: Block) -> set[str]:
    """The kinds of records that a list names."""
    return {column.to.partition(".")[0] for column in columns_of(block, sheet_is_technicians=False).values()}


def _recorded(fleet: Fleet) -> frozenset[str]:
    known = {"customer": fleet.customers, "site": fleet.sites, "unit": fleet.units, "technician": fleet.technicians}
    return frozenset(kind for kind, some in known.items() if some)


def _titled(titles: list[str], named: set[str]) -> str | None:
    """What titles above tables in one sheet stand for, where no column says whose the units are."""
    texts = {text for text in titles if text and len(text) <= LONGEST_HEADING}
    known = named & {"customer.name", "customer.code", "site.name", "site.code"}
    return "customer.name" if len(texts) > 1 and not known else None


def _table(book: Book, group: Group, listed: frozenset[str], headings: list[frozenset[str]]) -> Table:
    """One table of the mapping."""
    block, sheets, titles = group
    technicians = any(word in sheets[0].casefold() for word in TECHNICIANS)
    columns = columns_of(block, sheet_is_technicians=technicians)
    visits = is_visit_table(block)
    labels = _labels(book, sheets, headings)
    named = {column.to for column in columns.values()} | set(labels.values())
    sheet_name = _sheet_name(sheets, named) if visits or len(sheets) > 1 else None
    section = (_section(block, named) or _titled(titles, named)) if visits and not sheet_name else None
    named |= {name for name in (sheet_name, section) if name}
    shapes = () if named & {"unit.tag", "unit.place"} or not visits else _tag_shapes(block)
    named |= {"unit.tag"} if shapes else set()
    creates = _creates(named, visits=visits, listed=listed)
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
    tagged = sum(TAGGED.match(text) is not None for text in texts)
    return "unit.tag" if tagged >= 0.5 * len(texts) or named & {"customer.name", "site.name"} else "customer.name"


def _creates(named: set[str], *, visits: bool, listed: frozenset[str]) -> tuple[str, ...]:
    """Who is added by a table: whoever a list names; by a log only those whom no list names."""
    records = {name.partition(".")[0] for name in named}
    made: list[str] = []
    if {"customer", "site"} & records:
        made += ["customer", "site"]
    if made and (visits or "unit" in records):
        made += ["unit"]
    if WHOSE in listed and "customer" not in records and "unit" in records:
        made = ["unit"]
    if visits:
        made = [kind for kind in made if kind not in listed and not (kind == "site" and "customer" in listed)]
    if "technician" in records or named & {"visit.technician", "site.technician"}:
        made += ["technician"]
    return tuple(made)


def _labels(book: Book, sheets: list[str], headings: list[frozenset[str]]) -> dict[str, str]:
    """Labels with a value beside them, above the heading or between blocks: Phone: 555-0142."""
    found: dict[str, str] = {}
    for sheet in book.sheets:
        if sheet.name in sheets:
            for label in _labels_in(sheet, headings):
                means = [to for to in matching(FLEET_WORDS, heading_key(label)) if to.startswith(LABELS)]
                if means:
                    found.setdefault(label, means[0])
    return found


def _labels_in(sheet: Sheet, headings: list[frozenset[str]]) -> Iterable[str]:
    for _, cells in sheet.rows():
        items = list(cells.values())
        keys = {heading_key(cell.text) for cell in items}
        if any(len(keys & each) >= 2 for each in headings):
            continue
        for n, cell in enumerate(items):
            label, colon, rest = cell.text.partition(":")
            if not isinstance(cell.value, str) or len(label) >= LONGEST_LABEL:
                continue
            beside = n + 1 < len(items) and len(items) <= MOST_PAIRED
            known = bool(matching(FLEET_WORDS, heading_key(label)))
            following = items[n + 1].text if n + 1 < len(items) else ""
            pair = beside and n % 2 == 0 and len(items) % 2 == 0 and known and not is_heading(following)
            if (colon and (rest.strip() or beside)) or pair:
                yield label
