"""Aliases for names that a file spells wrongly: proposed where one can be meant, and listed for people to read."""

import re
from collections import Counter
from dataclasses import replace
from datetime import date

from service.domain.errors import DomainError
from service.mapping.guess import Guess
from service.mapping.model import ASK, NAMED
from service.mapping.names import Known, key_of
from service.mapping.plan import Plan
from service.mapping.run import make_plan
from service.usecases.transfer.known_names import Fleet
from service.workbooks.cells import Book
from service.workbooks.dates import BY_NEIGHBOURS

SURE, OFTEN, RARELY = 0.88, 3, 2
MOST, MOST_CELLS = 500, 200_000  # names that are compared; cells of a file in which they are looked for


def with_aliases(made: Guess, book: Book, fleet: Fleet, today: date) -> Guess:
    """The guess with an alias for each misspelt name of which it is clear who is meant."""
    if sum(len(sheet.cells) for sheet in book.sheets) > MOST_CELLS:
        return made
    plan = _tried(made, book, fleet, today)
    aliases: dict[str, dict[str, str]] = {kind: {} for kind in NAMED}
    for (kind, text), _ in sorted(plan.unknown.most_common(MOST)):
        meant = _meant(plan.known[kind], kind, text)
        if meant is not None and key_of(meant) != key_of(text):
            aliases[kind][text] = meant
    for kind in ("customer", "site", "unit"):
        aliases[kind] |= _rare(kind, plan)
    counted = {f"aliases.{kind}": _remark(kind, found, plan) for kind, found in aliases.items() if found}
    made.remarks |= counted
    made.mapping = replace(made.mapping, aliases={kind: found for kind, found in aliases.items() if found})
    return made


def _tried(made: Guess, book: Book, fleet: Fleet, today: date) -> Plan:
    """The plan of the mapping as if every question had some answer."""
    mapping = made.mapping
    dates = {name: BY_NEIGHBOURS if order == ASK else order for name, order in mapping.dates.items()}
    units = {name: unit for name, unit in mapping.units.items() if unit != ASK}
    zone = None if mapping.time_zone == ASK else mapping.time_zone
    try:
        return make_plan(book, replace(mapping, dates=dates, units=units, time_zone=zone), fleet, today)
    except DomainError:
        return Plan()


def _meant(known: Known, kind: str, text: str) -> str | None:
    """Who is meant by a name that is not known, None where it is not clear."""
    if kind == "technician":
        return _person(known, text)
    return known.surely(text) or (_by_number(known, text) if kind == "unit" else None)


def _by_number(known: Known, text: str) -> str | None:
    """The only unit with the number of a text that is a number alone: #12, unit 12."""
    found = re.fullmatch(r"(?:#|no\.?|unit|gu|number|nr\.?|machine)* *0*([0-9]+)", text.strip(), re.IGNORECASE)
    if not found:
        return None
    same = [code for code in known.names if re.findall(r"[0-9]+", key_of(code)) == [found[1]]]
    return same[0] if len(same) == 1 else None


def _person(known: Known, text: str) -> str | None:
    """The only person with these initials or this first or last name, or nearly this name."""
    key = key_of(text)
    found = {
        code
        for code, names in known.names.items()
        for name in names
        if key in name.split() or key.replace(" ", "") == "".join(word[0] for word in name.split())
    }
    return next(iter(found)) if len(found) == 1 else known.surely(text, SURE)


def _rare(kind: str, plan: Plan) -> dict[str, str]:
    """Names that a log has once or twice beside a nearly equal one that it has often: probably the same."""
    counted = Counter({text: n for (of, text), n in plan.used.items() if of == kind})
    by_key: Counter[str] = Counter()
    for text, n in counted.items():
        by_key[key_of(text)] += n
    often = Known(kind)
    for text in counted:
        if by_key[key_of(text)] >= OFTEN:
            often.add(text, [])
    rare = [text for text in counted if by_key[key_of(text)] <= RARELY][:MOST]
    return {text: meant for text in sorted(rare) if (meant := often.surely(text, 0.8 if kind == "unit" else SURE))}


def _remark(kind: str, found: dict[str, str], plan: Plan) -> str:
    rows = sum(plan.unknown[kind, text] + plan.used[kind, text] for text in found)
    return (
        f"{len(found)} spellings in {rows} rows, read as the {kind} that is nearest. Correct or remove what is wrong."
    )
