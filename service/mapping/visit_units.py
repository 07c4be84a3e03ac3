"""The unit of a row of visits."""

from service.mapping.blocks import Fact, Row, tags_in
from service.mapping.fleet_rows import FleetRows
from service.mapping.names import is_tag, key_of
from service.mapping.plan import CHECK, source
from service.mapping.row_texts import texts


def unit_of(people: FleetRows, row: Row) -> str:
    """The tag of the unit of a row: by tag or place, by its site's only unit, or by a tag in its texts."""
    known = people.known["unit"]
    fact = row.first("unit.tag", "unit.place")
    site = customer = None
    try:
        site = people.site_of(row)
    except ValueError as fault:
        if fact is None:
            raise
        at = row.first("site.code", "site.name", "customer.code", "customer.name")
        people.plan.remark(CHECK, source(row, at), at.cell.text if at else "", f"{fault} The unit alone counts.")
    if fact is not None:
        return _named(people, row, fact, site)
    if site is None and row.first("customer.code", "customer.name"):
        customer = people.find_by(
            "customer", [*row.facts.get("customer.code", ()), *row.facts.get("customer.name", ())]
        )
    among = known.of([site]) if site else known.of(people.known["site"].of([customer])) if customer else []
    if len(among) == 1:
        return among[0]
    tagged = {code for code in (among or known.names) if f" {key_of(code)} " in f" {key_of(texts(row))} "}
    tagged = {code for code in tagged if any(c.isdigit() for c in code)}
    if len(tagged) == 1:
        return tagged.pop()
    shapes = row.table.unit_in_text
    written = sorted(tagged or ({tag.cell.text for tag in tags_in(row.facts, shapes)} if shapes else ()))
    if len(written) > 1:
        raise ValueError(f"names {len(written)} units ({', '.join(written[:8])}); write a row for each")
    where = site or customer
    raise ValueError(
        f"{where} has {len(among)} units ({', '.join(among[:8])}); name the unit" if where else "names no unit"
    )


def _named(people: FleetRows, row: Row, fact: Fact, site: str | None) -> str:
    text = fact.cell.text
    known, aliases = people.known["unit"], people.aliases("unit")
    if site is None:
        return people.find("unit", text)
    try:
        return known.find(text, known.of([site]), aliases)
    except ValueError:
        if fact.target == "unit.place" or not is_tag(text):
            return people.find("unit", text, known.of([site]))
    tag = people.find("unit", text)
    message = f"{tag} belongs to {known.parents.get(tag)}, not to {site}; the visit is recorded at {tag}"
    people.plan.remark(CHECK, source(row, fact), text, message)
    return tag
