"""Customers, sites, technicians and units out of the rows of tables that may add them."""

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import replace
from typing import Any

from service.mapping import targets
from service.mapping.blocks import Fact, Row
from service.mapping.convert import UNKNOWN, Context, value_of
from service.mapping.model import ASK, Mapping
from service.mapping.names import Known, Several, Unknown, alias, code_of, is_tag, key_of, slug
from service.mapping.plan import CHECK, FAULT, LEFT_OUT, Plan, Planned, Source, source
from service.usecases.transfer.known_names import Fleet
from service.workbooks.cells import Cell

ORDER = ("customer", "technician", "site", "unit")
YEAR_ALONE = re.compile("(?:19|20)[0-9]{2}")
CREW = re.compile(r"\s*(?:[/&+,;]|\band\b)\s*")
NAMED_BY = {
    "customer": ("customer.code", "customer.name"),
    "site": ("site.code", "site.name"),
    "unit": ("unit.tag", "unit.place"),
    "technician": ("technician.code", "technician.name"),
}


class FleetRows:
    """Who is known from the database and from the file, and the records that the file makes of them."""

    def __init__(self, fleet: Fleet, context: Context, plan: Plan) -> None:
        self.context, self.plan = context, plan
        self.mapping: Mapping = context.mapping
        self.known = {kind: Known(kind) for kind in ORDER}
        self.made: dict[tuple[str, str], Planned] = {}
        self.spellings: dict[str, str] = {}
        self.registered = {unit.tag: unit.registered_on for unit in fleet.units}
        self.components = {unit.tag: unit.components for unit in fleet.units}
        for code, name in fleet.customers:
            self.known["customer"].add(code, [name])
        for code, name in fleet.technicians:
            self.known["technician"].add(code, [name])
        for code, name, customer in fleet.sites:
            self.known["site"].add(code, [name], customer)
        for unit in fleet.units:
            self.known["unit"].add(unit.tag, unit.names, unit.site)

    def aliases(self, kind: str) -> dict[str, str]:
        """The aliases of the mapping for one kind."""
        return {written: meant for written, meant in self.mapping.aliases.get(kind, {}).items() if meant != ASK}

    def note_spellings(self, rows: Iterable[Row]) -> None:
        """Choose the most frequent spelling of each tag: a unit that is new gets that one."""
        counted: dict[str, Counter[str]] = {}
        for row in rows:
            for fact in row.facts.get("unit.tag", ()):
                text = alias(fact.cell.text, self.aliases("unit"))
                counted.setdefault(key_of(text), Counter())[text] += 1
        self.spellings = {key: spelt.most_common(1)[0][0] for key, spelt in counted.items()}

    def take(self, kind: str, row: Row) -> None:
        """Make or complete the record of a kind that the row names, if its table may add one."""
        if kind not in row.table.creates:
            return
        if kind == "technician":
            self._technicians(row)
        elif kind == "customer":
            self._one(row, "customer", None)
        elif kind == "site":
            self._one(row, "site", self._customer_of_site(row))
        else:
            self._unit(row)

    def _customer_of_site(self, row: Row) -> str | None:
        """Whose the site of a row is: the customer that the row names, or the one with the site's name."""
        facts = _naming(row, "customer")
        if not facts and "customer" in row.table.creates:
            facts = [replace(fact, cell=Cell(self._meant("customer", fact))) for fact in _naming(row, "site")]
        return self.find_by("customer", facts[::-1]) if facts else None

    def _meant(self, kind: str, fact: Fact) -> str:
        """The text by which a record is named; a customer and a site that stand for each other have one alias."""
        other = fact.target.partition(".")[0]
        return fact.cell.text if other == kind else alias(fact.cell.text, self.aliases(other))

    def find(self, kind: str, text: str, within: list[str] | None = None) -> str:
        """The code of whoever is meant."""
        try:
            return self.known[kind].find(text, within, self.aliases(kind))
        except Unknown:
            self.plan.unknown[kind, text] += 1
            raise

    def find_by(self, kind: str, facts: list[Fact], within: list[str] | None = None) -> str:
        """The code of whoever one of these cells names; the first cell's refusal if none does."""
        known, aliases = self.known[kind], self.aliases(kind)
        for fact in facts[1:]:
            try:
                known.find(facts[0].cell.text, within, aliases)
            except Unknown:
                with suppress(Unknown):
                    return known.find(fact.cell.text, within, aliases)
        return self.find(kind, facts[0].cell.text, within)

    def people(self, row: Row, fact: Fact) -> list[str]:
        """The codes of the technicians that a cell names; one that is not known is a fault."""
        codes = []
        for name in [fact.cell.text] if self._is_one(fact.cell.text) else CREW.split(fact.cell.text):
            try:
                codes.append(self.find("technician", name))
            except ValueError as fault:
                self.plan.remark(FAULT, source(row, fact), fact.cell.text, str(fault))
        return list(dict.fromkeys(codes))

    def _is_one(self, text: str) -> bool:
        try:
            self.find("technician", text)
        except ValueError:
            return not CREW.search(text)
        return True

    def site_of(self, row: Row) -> str | None:
        """The site that the row names, by itself or by its customer's only one; a name nobody knows is a fault."""
        return self._named_site(row, self._named_customer(row))

    def _named_customer(self, row: Row) -> str | None:
        facts = _naming(row, "customer")
        return self.find_by("customer", facts) if facts else None

    def _named_site(self, row: Row, customer: str | None) -> str | None:
        facts = _naming(row, "site")
        sites = self.known["site"].of([customer]) if customer else None
        if facts:
            return self.find_by("site", facts, sites)
        return sites[0] if sites and len(sites) == 1 else None

    def _technicians(self, row: Row) -> None:
        fact = row.first("technician.name", "technician.code")
        if fact is not None:
            self._one(row, "technician", None)
        for fact in [*row.facts.get("visit.technician", ()), *row.facts.get("site.technician", ())]:
            for name in CREW.split(fact.cell.text) if fact.cell.text else ():
                meant = self.aliases("technician").get(name, name)
                self._found_or_made("technician", meant, None, source(row, fact))

    def _one(self, row: Row, kind: str, parent: str | None) -> str | None:
        """The code of the customer, site or technician of a row, made where it is new; None where none is named."""
        code, name = (row.first(target) for target in NAMED_BY[kind])
        fact = name or code
        if fact is None and kind in ("customer", "site"):  # one stands for the other
            fact = row.first(*NAMED_BY["site" if kind == "customer" else "customer"][::-1])
        if fact is None:
            return None
        given = code.cell.text if code else None
        if row.is_visit:
            self.plan.used[kind, fact.cell.text] += 1
        made = self._found_or_made(kind, self._meant(kind, fact), parent, source(row, fact), given)
        self._fields(row, kind, self.made[kind, made])
        return made

    def _found_or_made(self, kind: str, text: str, parent: str | None, at: Source, code: str | None = None) -> str:
        known = self.known[kind]
        within = known.of([parent]) if parent else None
        try:
            found = known.find(code or text, within, self.aliases(kind))
            if alias(text, self.aliases(kind)) != text:  # an alias is no new name
                text = known.shown.get(found, text)
        except Several:
            found = code_of(text)
        except Unknown:
            text = alias(text, self.aliases(kind))
            found = code_of(code) if code else self._free_code(kind, text, parent)
            known.add(found, [text], parent or "")
        if (kind, found) not in self.made:
            self.made[kind, found] = self._new(kind, found, text, parent, at)
        return found

    def _free_code(self, kind: str, text: str, parent: str | None) -> str:
        made = slug(text)
        taken = made in self.known[kind].names
        return f"{parent}-{made}"[:64] if taken and parent else made

    def _new(self, kind: str, code: str, text: str, parent: str | None, at: Source) -> Planned:
        made = Planned(kind, {"code": code, "name": text}, at)
        if kind == "site":
            made.body["customer"] = parent or self.known["site"].parents.get(code, "")
            if self.mapping.time_zone and self.mapping.time_zone != ASK:
                made.body["time_zone"] = self.mapping.time_zone
        return made

    def _unit(self, row: Row) -> None:
        fact = row.first("unit.tag", "unit.place")
        try:
            site = self.site_of(row)
        except ValueError as fault:
            self.plan.remark(
                FAULT,
                source(row, row.first(*NAMED_BY["site"], *NAMED_BY["customer"])),
                row.text(*NAMED_BY["site"]),
                str(fault),
            )
            return
        there = self.known["unit"].of([site]) if fact is None and site else []
        if fact is None and (site is None or len(there) > 1):
            self._names_no_unit(row, site, there)
            return
        text = alias(fact.cell.text, self.aliases("unit")) if fact else ""
        if row.is_visit and fact is not None:
            self.plan.used["unit", fact.cell.text] += 1
        tag = there[0] if there else self._tag(text, site, by_place=fact is None or fact.target == "unit.place")
        if ("unit", tag) not in self.made:
            self.made["unit", tag] = Planned("unit", {"tag": tag}, source(row, fact))
        made = self.made["unit", tag]
        if site:
            made.set("site", site, source(row, row.first(*NAMED_BY["site"], *NAMED_BY["customer"])))
        elif "site" not in made.body and self.known["unit"].parents.get(tag):
            made.body["site"] = self.known["unit"].parents[tag]
        nickname = row.text("unit.place") or (text if key_of(text) != key_of(tag) else "")
        self.known["unit"].add(tag, [nickname], site or "")
        if nickname:
            made.body.setdefault("place", nickname)
        self._fields(row, "unit", made)

    def _names_no_unit(self, row: Row, site: str | None, there: list[str]) -> None:
        if there and not row.is_visit:  # of a visit it is reported with the visit
            self.plan.remark(FAULT, source(row), "", f"{site} has {len(there)} units; name the unit")

    def _tag(self, text: str, site: str | None, *, by_place: bool) -> str:
        """The tag of a unit that may be new; one without a tag has its site's code and its place."""
        known = self.known["unit"]
        try:
            return known.find(text or "unit", known.of([site]) if site else None)
        except ValueError:
            if text and not by_place and is_tag(text):
                with suppress(ValueError):
                    return known.find(text)
        text = self.spellings.get(key_of(text), text)
        code = code_of(text) if text else ""
        if text and not by_place and (code == text or re.fullmatch(r"[A-Za-z]{1,6}[ -]?[0-9]{1,6}[A-Za-z]?", text)):
            return code if code == text else text.replace(" ", "-")
        return f"{site or 'unit'}-{slug(text) if text else '1'}"[:64]

    def _fields(self, row: Row, kind: str, made: Planned) -> None:
        """The fields of the row beside the name; the first of two different values stays."""
        for name, facts in row.facts.items():
            target = targets.target(name)
            if target.record != kind or name in NAMED_BY[kind]:
                continue
            for fact in facts:
                self._field(row, made, target, fact)

    def _field(self, row: Row, made: Planned, target: targets.Target, fact: Fact) -> None:
        at = source(row, fact)
        if fact.cell.text.casefold() in UNKNOWN:
            self.plan.remark(LEFT_OUT, at, fact.cell.text, f"{target.name}: stands for what is not known")
            return
        if target.kind == "day" and YEAR_ALONE.fullmatch(fact.cell.text):
            self.plan.remark(LEFT_OUT, at, fact.cell.text, f"{target.name}: a year alone is no day")
            return
        try:
            value = self._value(row, target, fact)
        except ValueError as fault:
            self.plan.remark(FAULT, at, fact.cell.text, f"{target.name}: {fault}")
            return
        former = _at(made.body, target.field)
        if former is None and value is not None:
            made.set(target.field, value, at)
        elif former != value and not (
            made.kind == "site" and target.field == "time_zone" and target.field not in made.cells
        ):
            whose = made.body.get("name") or made.body.get("tag")
            message = f"{target.name} of {whose} is {former!r} in another row; that one is imported"
            self.plan.remark(CHECK, at, fact.cell.text, message)
        elif former != value:
            made.set(target.field, value, at)

    def _value(self, row: Row, target: targets.Target, fact: Fact) -> Any:
        if target.kind == targets.PERSON:
            people = self.people(row, fact)
            return people[0] if people else None
        return value_of(target, fact, self.context, row.year)

    def records(self) -> Iterator[Planned]:
        """The records in the order in which they refer to each other; retirements are left for the end."""
        for kind in ORDER:
            yield from (made for (of, _), made in self.made.items() if of == kind)


def _naming(row: Row, kind: str) -> list[Fact]:
    return [fact for target in NAMED_BY[kind] for fact in row.facts.get(target, ())]


def _at(body: dict[str, Any], path: str) -> Any:
    at: Any = body
    for name in path.split("."):
        at = at.get(name) if isinstance(at, dict) else None
    return at
