"""What facts and ends of sites, units and customers were before each change, taken from the audit trail."""

import json
import typing

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None

CHANGED = sa.text(
    "SELECT at, actor, resource, key, before, after FROM audit WHERE action = 'changed' "
    "AND resource IN ('site', 'unit', 'customer') AND before IS NOT NULL AND after IS NOT NULL ORDER BY id"
)
ADD = sa.text(
    "INSERT INTO change (at, made_by, resource, key, before, after) "
    "VALUES (:at, :made_by, :resource, :key, :before, :after)"
)
FACTS = {"site": ("surroundings", "closed_weekdays"), "unit": ("supply", "refrigeration", "bath"), "customer": ()}
END = {"site": "ended_on", "unit": "retired_on", "customer": "ended_on"}


def upgrade() -> None:
    link = op.get_bind()
    for at, actor, resource, key, *texts in list(link.execute(CHANGED)):
        for of, name, before, after in _kept(resource, key, *(json.loads(text) for text in texts)):
            if before != after:
                link.execute(
                    ADD, {"at": at, "made_by": actor, "resource": of, "key": name, "before": before, "after": after}
                )


def _kept(
    resource: str, key: str, before: dict[str, typing.Any], after: dict[str, typing.Any]
) -> typing.Iterator[tuple[str, str, str, str]]:
    yield resource, key, _facts(resource, before), _facts(resource, after)
    yield "end", f"{resource}/{key}", _end(resource, before), _end(resource, after)


def _facts(resource: str, record: dict[str, typing.Any]) -> str:
    found = {name: record.get(name) for name in FACTS[resource]}
    if resource == "unit":
        parts = record.get("components", ())
        found["ratings"] = {each["code"]: each["rated_current"] for each in parts if each.get("rated_current")}
    return _text({name: fact for name, fact in found.items() if fact})


def _end(resource: str, record: dict[str, typing.Any]) -> str:
    return _text({"on": record.get(END[resource])})


def _text(kept: dict[str, typing.Any]) -> str:
    return json.dumps(kept, separators=(",", ":"), ensure_ascii=False)


def downgrade() -> None:
    op.execute("DELETE FROM change WHERE resource IN ('site', 'unit', 'end')")
