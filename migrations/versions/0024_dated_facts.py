"""What the facts of sites and units that change with time were before each change, taken from the audit trail."""

import json

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None

CHANGED = sa.text(
    "SELECT at, actor, resource, key, before, after FROM audit WHERE action = 'changed' "
    "AND resource IN ('site', 'unit') AND before IS NOT NULL AND after IS NOT NULL ORDER BY id"
)
ADD = sa.text(
    "INSERT INTO change (at, made_by, resource, key, before, after) "
    "VALUES (:at, :made_by, :resource, :key, :before, :after)"
)
FACTS = {"site": ("surroundings", "closed_weekdays"), "unit": ("supply", "refrigeration", "bath")}


def upgrade() -> None:
    link = op.get_bind()
    for at, actor, resource, key, *texts in list(link.execute(CHANGED)):
        before, after = (_facts(resource, text) for text in texts)
        if before != after:
            link.execute(
                ADD,
                {"at": at, "made_by": actor, "resource": resource, "key": key, "before": before, "after": after},
            )


def _facts(resource: str, text: str) -> str:
    record = json.loads(text)
    found = {name: record.get(name) for name in FACTS[resource]}
    if resource == "unit":
        parts = record.get("components", ())
        found["ratings"] = {each["code"]: each["rated_current"] for each in parts if each.get("rated_current")}
    return json.dumps({name: fact for name, fact in found.items() if fact}, separators=(",", ":"), ensure_ascii=False)


def downgrade() -> None:
    op.execute("DELETE FROM change WHERE resource IN ('site', 'unit')")
