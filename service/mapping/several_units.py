"""A row that names several units: a visit of each, where it says nothing that only one of them can have."""

import re
from collections.abc import Iterator
from dataclasses import replace

from service.mapping.blocks import Fact, Row, tags_in
from service.mapping.fleet_rows import FleetRows
from service.mapping.free_text import found_in
from service.mapping.plan import CHECK, source
from service.workbooks.cells import Cell

BETWEEN = r"(?: *(?:[,;&+/]|\band\b|\bplus\b) *)+"
SEPARATOR = re.compile(BETWEEN, re.IGNORECASE)
NUMBER = re.compile(r"[0-9]+[A-Za-z]?")
OF_ONE = ("reading.", "replacement.", "visit.part_used")


def rows_of_units(people: FleetRows, row: Row) -> Iterator[Row]:
    """The row, or one for each unit that it names; ValueError where it has what only one of them can have."""
    named = _named(people, row)
    if len(named) < 2:
        yield row
        return
    own = sorted({what for fact in _facts(row) for what in _of_one(fact)})
    if own:
        raise ValueError(
            f"names {len(named)} units ({', '.join(tag for tag, _ in named[:8])}) and has {', '.join(own)}, "
            "which only one of them can have; write a row for each, with its own"
        )
    message = f"names {len(named)} units: a visit of each"
    people.plan.remark(CHECK, source(row, named[0][1]), named[0][1].cell.text, message)
    for tag, fact in named:
        yield replace(row, facts={**row.facts, "unit.tag": [replace(fact, target="unit.tag", cell=Cell(tag))]})


def _named(people: FleetRows, row: Row) -> list[tuple[str, Fact]]:
    """The units of a list in the column of units, or in a text: each with the cell that names it; [] for one."""
    fact = row.first("unit.tag")
    parts = _parts(fact.cell.text) if fact else []
    if fact is None:
        for each in _facts(row):
            tags = [tag.cell.text for tag in tags_in({"": [each]}, row.table.unit_in_text or ("\0#",))]
            if len(tags) > 1 and re.search(BETWEEN.join(map(re.escape, tags)), each.cell.text, re.IGNORECASE):
                fact, parts = each, tags
    if fact is None or len(parts) < 2 or _is_known(people, fact.cell.text):
        return []
    return [(tag, fact) for tag in dict.fromkeys(people.find("unit", part) for part in parts)]


def _parts(text: str) -> list[str]:
    """The tags of a list.

    >>> _parts("GU-101, GU-102"), _parts("GU 103/104 + 105"), _parts("Bar & Grill")
    (['GU-101', 'GU-102'], ['GU 103', 'GU 104', 'GU 105'], [])
    """
    parts = [part.strip() for part in SEPARATOR.split(text) if part.strip()]
    first = re.fullmatch(r"(.*?)([0-9]+[A-Za-z]?)", parts[0]) if parts else None
    if first is None or not all(re.search("[0-9]", part) for part in parts):
        return []
    return [f"{first[1]}{part}" if NUMBER.fullmatch(part) else part for part in parts]


def _is_known(people: FleetRows, text: str) -> bool:
    try:
        people.known["unit"].find(text, None, people.aliases("unit"))
    except ValueError:
        return False
    return True


def _facts(row: Row) -> Iterator[Fact]:
    return (fact for facts in row.facts.values() for fact in facts if fact.column)


def _of_one(fact: Fact) -> Iterator[str]:
    """What a cell has that only one unit can have: a reading, a part."""
    if fact.target.startswith(OF_ONE):
        yield _words(fact.target)
    if fact.meant is not None and fact.meant.read_text:
        yield from (_words(each.target) for each in found_in(fact.cell.text) if each.target.startswith(OF_ONE))


def _words(target: str) -> str:
    kind, _, what = target.partition(".")
    return f"a {kind} ({what.replace('_', ' ')})" if kind != "visit" else "a part"
