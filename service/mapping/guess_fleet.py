"""A first guess of what the columns of a list of customers, sites, units or technicians mean."""

import re
from dataclasses import replace

from service.mapping import targets
from service.mapping.blocks import heading_key
from service.mapping.guess_headings import MONEY_WORD, MOSTLY, SOME, Block, Content, bare, is_date, is_number, unit_of
from service.mapping.guess_words import FLEET_WORDS, PLACE_WORDS, VISIT_WORDS, matching
from service.mapping.model import ABOVE, NOTE, SKIP, Column
from service.workbooks.cells import OVER

POSITIONS = (
    r"\b(?:up|down)stairs|basement|roof|patio|kitchen|\bback\b|\bfront\b|cellar|attic|closet|behind|under|\bbar [0-9]|"
    r"floor|main bar"
)
POSITION = re.compile(POSITIONS, re.IGNORECASE)


def _is_place(content: Content, block: Block) -> bool:
    """Whether a column beside one of units is a place in a building: words for such places, or few beside customers."""
    headings = {to for each in block.columns.values() for to in matching(PLACE_WORDS, heading_key(each.heading))[:1]}
    few = len(set(content.texts)) < 0.5 * len(content.texts)
    worded = content.share(lambda cell: POSITION.search(cell.text) is not None) > SOME
    return "unit.tag" in headings and (worded or (few and "customer.name" in headings))


TECHNICIAN_WORDS = {
    "name": "name", "code": "code", "initials": "code", "phone": "phone", "cell": "phone", "mobile": "phone",
    "email": "email", "e mail": "email",
}  # fmt: skip


def of_fleet(content: Content, used: set[str], block: Block, *, technicians: bool) -> Column:
    """What a column of such a list means; what has no field is kept for the list of what was not imported."""
    key = heading_key(content.heading)
    if not content.cells:
        return Column(to=SKIP)
    if technicians and key in TECHNICIAN_WORDS:
        return Column(to=f"technician.{TECHNICIAN_WORDS[key]}")
    ways = (key, heading_key(content.heading.rpartition(OVER)[2]), bare(content.heading))
    known = next(filter(None, (matching(FLEET_WORDS, way) for way in ways)), [])
    found = [to for to in known if to not in used]
    if not found and matching(VISIT_WORDS, key)[:1] == ["visit.technician"] and "site.technician" not in used:
        return Column(to="site.technician")
    if found[:1] == ["site.name"] and "unit.place" not in used and _is_place(content, block):
        return Column(to="unit.place")
    fitting = (column for to in found if (column := _fleet_field(to, content)))
    return next(fitting, Column(to=SKIP if MONEY_WORD.fullmatch(key) else NOTE))


def _fleet_field(to: str, content: Content) -> Column | None:
    """The column if its content can be that field of a customer, site or unit."""
    target = targets.target(to)
    if target.kind == "day":
        return Column(to=to) if content.share(is_date) >= MOSTLY else None
    if target.kind == "measure":
        return Column(to=to, unit=unit_of(content.heading)) if content.share(is_number) >= MOSTLY else None
    if target.kind != "choice":
        return Column(to=to)
    meant = {text: next((c for c in target.choices if c in text.casefold()), "") for text in content.texts}
    if sum(bool(meant[text]) for text in content.texts) < MOSTLY * len(content.cells):
        return None
    return Column(to=to, values={text: choice or target.choices[-1] for text, choice in meant.items()})


def with_customers(made: dict[str, Column], block: Block) -> dict[str, Column]:
    """A list of sites that names a customer in the first row of its sites alone: blank stands for the row above."""
    blanks = {made[each.heading].to: each.blanks for each in block.columns.values()}
    named = {to: n for to, n in blanks.items() if to in ("customer.code", "customer.name")}
    if len(set(named.values())) != 1 or not 0 == blanks.get("site.name", 1) < min(named.values()):
        return made
    return {heading: replace(each, blank=ABOVE) if each.to in named else each for heading, each in made.items()}
