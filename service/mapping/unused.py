"""What stands in the rows of a table and goes into no record: listed, so that nothing is lost unseen."""

import re
from collections.abc import Iterable

from service.mapping import targets
from service.mapping.blocks import Fact, Row
from service.mapping.fleet_rows import NAMED_BY
from service.mapping.model import CREATES, NOTE
from service.mapping.plan import LEFT_OUT, Plan, Source, source
from service.mapping.row_texts import texts

NAMES = frozenset(name for kind in ("customer", "site", "unit") for name in NAMED_BY[kind])
TOTAL = re.compile(r"(?:grand |sub)?-?totals?\W*|sum\W*", re.IGNORECASE)


def is_record(row: Row, plan: Plan) -> bool:
    """Whether a row can give records; a total, and a row of a list that names nobody, are listed instead."""
    if row.is_visit:
        return True
    named = [fact for kind in CREATES for name in NAMED_BY[kind] for fact in row.facts.get(name, ())]
    if any(TOTAL.fullmatch(fact.cell.text) for fact in named):
        plan.remark(LEFT_OUT, source(row), texts(row), "a total")
    elif not named and texts(row):
        plan.remark(LEFT_OUT, source(row), texts(row), "names no customer, site, unit or technician")
    else:
        return True
    return False


def remark_unused(rows: Iterable[Row], plan: Plan) -> None:
    """List the cells that their table may not import; a label or title above several rows once."""
    found: dict[tuple[Source, str, str], None] = {}
    for row in rows:
        for name, facts in row.facts.items():
            for fact in facts:
                why = _why_unused(row, name, fact) if fact.cell.text else None
                if why is not None:
                    at = source(row, fact) if fact.meant else Source(row.sheet, 0, 0)
                    found[at, fact.cell.text, why] = None
    for at, text, why in found:
        plan.remark(LEFT_OUT, at, text, why)


def _why_unused(row: Row, name: str, fact: Fact) -> str | None:
    if name == NOTE:
        return None if row.is_visit else f"there is no field for {fact.heading!r}"
    record = targets.target(name).record
    if record not in CREATES or name in NAMES or record in row.table.creates:
        return None
    return f"{name}: this table may not add or change a {record}; name it under creates"
