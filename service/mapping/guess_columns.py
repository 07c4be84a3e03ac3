"""A first guess of what the columns of a table mean, by their headings and by what stands under them."""

import re
from collections import Counter
from statistics import median

from service.domain.quantities import DIMENSIONS
from service.mapping import targets
from service.mapping.blocks import heading_key
from service.mapping.convert import mark
from service.mapping.free_text import found_in
from service.mapping.guess_codes import DISTINCT, part_in, with_codes
from service.mapping.guess_fleet import POSITION, of_fleet, with_customers
from service.mapping.guess_headings import (
    MONEY_WORD,
    MOSTLY,
    QUANTITY_WORD,
    SOME,
    TAG,
    Block,
    Content,
    bare,
    is_date,
    is_number,
    readings_of,
    unit_of,
)
from service.mapping.guess_words import (
    FLEET_WORDS,
    KIND_WORDS,
    PLACE_WORDS,
    READING_WORDS,
    TASK_WORDS,
    VISIT_WORDS,
    matching,
)
from service.mapping.model import ABOVE, NOTE, SKIP, Column
from service.mapping.names import key_of
from service.workbooks import numbers

PLACES = ("site.", "unit.")
MANY = ("visit.part_used", "visit.internal_note", "visit.work", "note", "skip", "reading.current")
REFERRED = (
    "visit.date",
    "visit.technician",
    "unit.tag",
    "unit.place",
    "site.name",
    "site.code",
    "customer.name",
    "customer.code",
)


def is_visit_table(block: Block) -> bool:
    """Whether the rows have a day of a visit."""
    return date_column(block) is not None


def date_column(block: Block) -> int | None:
    """The column with the day of the visit: by its heading and content, or the first full of days."""
    dated = [n for n, content in block.columns.items() if content.share(is_date) >= MOSTLY]
    named = [n for n in dated if "visit.date" in matching(VISIT_WORDS, bare(block.columns[n].heading))]
    if named:
        return named[0]
    in_fleet = any(
        set(matching(FLEET_WORDS, bare(content.heading))) & {"unit.serial", "unit.model", "customer.phone"}
        for content in block.columns.values()
    )
    free = [n for n in dated if not matching(FLEET_WORDS, bare(block.columns[n].heading))]
    return free[0] if free and not in_fleet else None


def columns_of(block: Block, *, sheet_is_technicians: bool) -> dict[str, Column]:
    """The columns of a table by heading."""
    day = date_column(block)
    made: dict[str, Column] = {}
    used: set[str] = set()
    for number, content in block.columns.items():
        if day is not None:
            column = Column(to="visit.date") if number == day else _of_visits(content, used)
        else:
            column = of_fleet(content, used, block, technicians=sheet_is_technicians)
        if column.to not in MANY:
            used.add(column.to)
        if day is not None:
            column = with_codes(_with_blanks(column, content, block, day), content, block)
        made.setdefault(content.heading, column)
    return made if day is not None else with_customers(made, block)


def _with_blanks(column: Column, content: Content, block: Block, day: int | None) -> Column:
    """Blank stands for the row above where the day itself is left blank on some rows."""
    if day is not None and block.columns[day].blanks and content.blanks and column.to in REFERRED:
        return Column(to=column.to, blank=ABOVE, values=column.values)
    return column


def _of_visits(content: Content, used: set[str]) -> Column:
    key = heading_key(content.heading)
    if not content.cells:
        return Column(to=SKIP)
    ways = readings_of(content.heading)
    lists = (TASK_WORDS, READING_WORDS, PLACE_WORDS, VISIT_WORDS)
    named = [to for words in lists for way in ways for to in matching(words, way)]
    for to in dict.fromkeys(named):
        if to not in used or to in MANY:
            column = _placed(content, used) or _fitting(to, content) if to.startswith(PLACES) else _fitting(to, content)
            if column is not None:
                return column
    if MONEY_WORD.fullmatch(key):
        return Column(to=SKIP)
    return _by_content(content, used)


def _placed(content: Content, used: set[str]) -> Column | None:
    """A place in a building, where another column has the customer and the texts are words for such places."""
    known = {"customer.name", "customer.code", "site.name"} & used and not {"unit.tag", "unit.place"} & used
    if known and content.share(lambda cell: POSITION.search(cell.text) is not None) > SOME:
        return Column(to="unit.place")
    return None


def _fitting(to: str, content: Content) -> Column | None:
    """The column if its content can be that field."""
    if to.startswith("reading."):
        numeric = content.share(is_number) >= MOSTLY or content.share(_ends_in_number) >= MOSTLY
        return _reading(to, content) if numeric else None
    if to == "visit.kind":
        return _kind(content)
    if to == "visit.part_used":
        return _parts(content)
    if to in ("visit.work", "visit.internal_note", "visit.complaint", "visit.advice"):
        return _notes(to, content) if content.share(is_number) < MOSTLY else None
    return Column(to=to) if _can_be(to, content) else None


def _can_be(to: str, content: Content) -> bool:
    """Whether what stands under a heading does not speak against its field."""
    if to.startswith("task."):
        return content.share(lambda cell: _is_mark(cell.text)) >= MOSTLY
    if to in ("visit.time", "visit.left"):
        return content.share(_is_clock) >= MOSTLY
    if to == "unit.tag":
        return content.share(lambda cell: len(cell.text) > 45) <= SOME
    return to not in ("visit.date", "visit.outcome")


def _reading(to: str, content: Content) -> Column:
    written = unit_of(content.heading)
    target = targets.target(to)
    units = [unit for name in target.dimensions for unit in DIMENSIONS[name].units]
    if written == "%" and "vol%" in units:
        written = "vol%"
    component = {"comp": "compressor", "compressor": "compressor", "pump": "pump", "fan": "condenser_fan"}
    named = next((kind for word, kind in component.items() if word in heading_key(content.heading).split()), None)
    when = "as_left" if {"after", "left", "leaving", "end"} & set(heading_key(content.heading).split()) else "as_found"
    of_component = to == "reading.current"
    return Column(
        to=to,
        unit=written if written in units else None,
        when=when,
        component=(named or "compressor") if of_component else None,
    )


def values_without_unit(content: Content, *, percent: bool) -> list[float]:
    """The numbers of a column that have no unit beside them; % is one where it says enough."""
    found = []
    for cell in content.cells:
        try:
            number = numbers.parse_either(cell.text)
        except ValueError:
            continue
        written = number.unit or numbers.unit_in_format(cell.number_format)
        if not written or (written == "%" and not percent):
            hundredth = written == "%" and not number.unit  # a cell that shows 35% holds 0.35
            found.append(float(number.text) * (100 if hundredth else 1))
    return found


def likely_unit(quantity: str, values: list[float]) -> str | None:
    """The unit that numbers without one have beyond doubt; None to ask."""
    if not values:
        return None
    middle = median(values)
    dimensions = targets.target(f"reading.{quantity}").dimensions
    if quantity == "glycol_strength":
        return None
    if dimensions == ("temperature",):
        return "degF" if middle > 20 else "degC" if middle < 8 and quantity != "ambient_temperature" else None
    usual = {"current": "A", "voltage": "V", "acidity": "pH", "fraction": "%"}
    return usual.get(dimensions[0])


def _is_mark(text: str) -> bool:
    try:
        mark(text)
    except ValueError:
        return False
    return True


def _ends_in_number(cell: object) -> bool:
    return re.fullmatch(r"\D{0,12}-?[0-9]+([.,][0-9]+)?\D{0,8}", getattr(cell, "text", "")) is not None


def _is_clock(cell: object) -> bool:
    from service.mapping.blocks import Fact
    from service.mapping.convert import clock

    try:
        clock(Fact("visit.time", cell))  # type: ignore[arg-type]
    except ValueError:
        return False
    return True


def _kind(content: Content) -> Column | None:
    """The kinds of visits, each text of a small number of texts given its kind."""
    counted = Counter(content.texts)
    if len(counted) > DISTINCT or any(len(text) > 40 for text in counted):
        return None
    values = {}
    for text in counted:
        kind = next((kind for kind, pattern in KIND_WORDS if re.search(rf"\b(?:{pattern})\b", key_of(text))), None)
        if kind is not None:
            values[text] = kind
    if sum(counted[text] for text in values) < MOSTLY * len(content.cells):
        return None
    return Column(to="visit.kind", values={text: values.get(text, "maintenance") for text in counted})


def _parts(content: Content) -> Column:
    """Parts by kind where most texts name one component, else as text."""
    counted = Counter(content.texts)
    values = {text: kind for text in counted if len(text) < 40 and (kind := part_in(text))}
    if len(counted) <= DISTINCT and sum(counted[text] for text in values) >= 0.9 * len(content.cells):
        return Column(to="replacement.kind", values=values)
    return _notes("visit.part_used", content)


def _notes(to: str, content: Content) -> Column:
    """A column of text, which is read for readings, tasks and parts where it has some; codes get their meaning."""
    found = sum(any(True for _ in found_in(text)) for text in content.texts)
    return Column(to=to, read_text=found > 0)


def _by_content(content: Content, used: set[str]) -> Column:
    placed = _placed(content, used)
    if placed is not None:
        return placed
    if "unit.tag" not in used and content.share(lambda cell: TAG.fullmatch(cell.text) is not None) >= MOSTLY:
        return Column(to="unit.tag")
    key = heading_key(content.heading)
    if content.share(is_number) >= MOSTLY or QUANTITY_WORD.fullmatch(key):
        return Column(to=NOTE)
    long = content.share(lambda cell: len(cell.text) > 25) > SOME
    return _notes("visit.internal_note", content) if long else Column(to=NOTE)
