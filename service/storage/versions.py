"""The version of every record that has one, by kind and key, so that an export can carry them."""

from collections.abc import Iterator

from sqlalchemy import ColumnElement, String, Table, bindparam, cast, literal_column, or_, select

from service.storage.engine.link import Link
from service.storage.engine.statements import Statement
from service.storage.last_ids import count_on, last_ids
from service.storage.tables import (
    assignment,
    attendance,
    call,
    company,
    customer,
    metadata,
    root_cause,
    site,
    task_setting,
    technician,
    unit,
    unit_task_setting,
    visit,
)

NUMBERED = ("assignment", "root_cause")
OWN = "unit_task"  # its key is the tag of the unit and the task
TABLES: dict[str, Table] = {
    "company": company, "customer": customer, "technician": technician, "site": site, "unit": unit, "call": call,
    "assignment": assignment, "attendance": attendance, "visit": visit, "root_cause": root_cause,
    "task": task_setting, OWN: unit_task_setting,
}  # fmt: skip
UNIT_OF_OWN = select(unit.c.tag).where(unit.c.id == unit_task_setting.c.unit_id).scalar_subquery()
KEYS: dict[str, ColumnElement[str]] = {
    "company": literal_column("'company'"),
    OWN: UNIT_OF_OWN + "/" + unit_task_setting.c.task,
    "task": task_setting.c.task,
    "unit": unit.c.tag,
    **{kind: TABLES[kind].c.code for kind in ("customer", "technician", "site")},
    **{kind: TABLES[kind].c.uuid for kind in ("call", "attendance", "visit")},
    **{kind: cast(TABLES[kind].c.id, String) for kind in NUMBERED},
}
# What an import makes in more than one step has a line even at version 1: a unit's retirement comes behind its visits.
IN_STEPS = (unit.c.retired_on.is_not(None), unit.c.replaces_id.is_not(None))
LISTED: dict[str, ColumnElement[bool]] = {
    kind: or_(table.c.version > 1, *(IN_STEPS if kind == "unit" else ())) for kind, table in TABLES.items()
}
ALL = {kind: Statement(select(KEYS[kind], TABLES[kind].c.version).where(LISTED[kind])) for kind in TABLES}
UNIT = select(unit.c.id).where(unit.c.tag == bindparam("of_tag")).scalar_subquery()
NAMED: dict[str, ColumnElement[bool]] = {  # by what an index has
    **{kind: KEYS[kind] == bindparam("key") for kind in TABLES},
    **{kind: TABLES[kind].c.id == bindparam("key") for kind in NUMBERED},
    OWN: (unit_task_setting.c.unit_id == UNIT) & (unit_task_setting.c.task == bindparam("key")),
}
ONE = {kind: Statement(select(table.c.version).where(NAMED[kind])) for kind, table in TABLES.items()}
SET = {
    kind: Statement(table.update().values(version=bindparam("new_version")).where(NAMED[kind]))
    for kind, table in TABLES.items()
}
FIRST = {
    kind: Statement(table.update().values(version=1).where(table.c.version != 1)) for kind, table in TABLES.items()
}
LONGEST_NUMBER = 19  # [digits]
NO_RECORDS = ("token", "session", "sign_in_link", "audit", "audit_chain", "job_done", "move")


class Versions:
    """How often each record was changed, and which numbers were given out."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def is_empty(self) -> bool:
        """Whether there is no record yet; tokens and what they left in the audit trail do not count."""
        names = (table.name for table in metadata.sorted_tables if table.name not in NO_RECORDS)
        return all(self.link.plain(f'SELECT 1 FROM "{name}" LIMIT 1').fetchone() is None for name in names)

    def all(self) -> Iterator[tuple[str, str, int]]:
        """(kind, key, version) of what was changed since it was stored."""
        for kind, statement in ALL.items():
            for key, version in sorted(self.link.rows(statement)):
                yield kind, key, version

    def of(self, kind: str, key: str) -> int | None:
        """The version of a record, None where there is none."""
        found: int | None = self.link.value(ONE[kind], **_named(kind, key))
        return found

    def restore(self, versions: dict[tuple[str, str], int], last: dict[str, int]) -> None:
        """Set the versions of all records, of those that are not named to 1, and the last numbers given out."""
        for statement in FIRST.values():
            self.link.run(statement)
        for kind, statement in SET.items():
            rows = [_named(kind, key) | {"new_version": new} for (of, key), new in versions.items() if of == kind]
            self.link.run_many(statement, rows)
        count_on(self.link, last)

    def last_ids(self) -> dict[str, int]:
        """The last number given out of each kind whose numbers are shown."""
        return last_ids(self.link)


def _named(kind: str, key: str) -> dict[str, str | int]:
    if kind == OWN:
        tag, _, task = key.rpartition("/")
        return {"of_tag": tag, "key": task}
    if kind in NUMBERED:
        return {"key": int(key) if key.isascii() and key.isdecimal() and len(key) < LONGEST_NUMBER else 0}
    return {"key": key}
