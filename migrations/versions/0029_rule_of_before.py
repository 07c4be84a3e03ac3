"""Condenser cleaning goes by what was learned from the day of the upgrade on; until then it went by `stepped`.

`learned` is the default of the program from here on. A database with units gets a dated change of the setting, so that
what was done before is still judged by the rule then in force. Where the owner has set a rule it stays.
"""

import datetime
import json
import typing

import sqlalchemy as sa
from alembic import op

revision = "0029"
down_revision = "0028"
branch_labels = None
depends_on = None

TASK, FORMER, BY = "condenser_clean", {"rule": "stepped"}, "migration 0029"
IN_USE = sa.text("SELECT 1 FROM unit LIMIT 1")
SETTING = sa.text("SELECT changes FROM task_setting WHERE task = :task")
HISTORY = sa.text("SELECT id, before, after FROM change WHERE resource = 'task' AND key = :task")
REWRITE = sa.text("UPDATE change SET before = :before, after = :after WHERE id = :id")
ADD = sa.text(
    "INSERT INTO change (at, made_by, resource, key, before, after) VALUES (:at, :by, 'task', :task, :before, :after)"
)


def upgrade() -> None:
    link = op.get_bind()
    if not link.execute(IN_USE).first():
        return
    for change, before, after in link.execute(HISTORY, {"task": TASK}).all():
        link.execute(REWRITE, {"id": change, "before": _as_was(before), "after": _as_was(after)})
    found = link.execute(SETTING, {"task": TASK}).scalar()
    after = "{}" if found is None else found
    if "rule" not in json.loads(after):
        now = datetime.datetime.now(datetime.UTC)  # noqa: TID251 (a migration knows nothing of the program)
        link.execute(
            ADD,
            {"at": f"{now:%Y-%m-%dT%H:%M:%S.%fZ}", "by": BY, "task": TASK, "before": _as_was(after), "after": after},
        )


def _as_was(text: str | None) -> str:
    """A setting with the rule that was in force where it names none."""
    setting: dict[str, typing.Any] = json.loads(text or "{}")
    return json.dumps({**FORMER, **setting}, separators=(",", ":"), ensure_ascii=False)


def downgrade() -> None:
    """Drop the change; the rule in the settings before it is the default again."""
    op.get_bind().execute(sa.text("DELETE FROM change WHERE made_by = :by AND key = :task"), {"by": BY, "task": TASK})
