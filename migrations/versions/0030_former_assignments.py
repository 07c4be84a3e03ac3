"""What assignments were before they were changed or deleted, taken from the audit trail."""

from alembic import op

revision = "0030"
down_revision = "0029"
branch_labels = None
depends_on = None

FROM_THE_TRAIL = """
INSERT INTO change (at, made_by, resource, key, before, after)
SELECT at, actor, resource, key, before, COALESCE(after, '{}') FROM audit
WHERE action IN ('changed', 'deleted') AND resource = 'assignment' AND before IS NOT NULL
ORDER BY id
"""


def upgrade() -> None:
    op.execute(FROM_THE_TRAIL)


def downgrade() -> None:
    op.execute("DELETE FROM change WHERE resource = 'assignment'")
