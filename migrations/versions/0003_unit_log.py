"""Versions of each unit's history and of what follows from it, one row for a daily job, terms of root causes and audit."""

import json
import typing

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
Terms = tuple[dict[str, str], dict[str, str], tuple[str, str]]  # fields, verdicts, how an explanation begins
NEW_TERMS: Terms = (
    {"luck_probability": "probability_of_chance", "soon_after": "preceding_failures"},
    {"too early to tell": "too early to say", "it goes on": "still failing"},
    ("luck (", "chance ("),
)
FORMER_TERMS: Terms = (
    {new: former for former, new in NEW_TERMS[0].items()},
    {new: former for former, new in NEW_TERMS[1].items()},
    ("chance (", "luck ("),
)


def upgrade() -> None:
    with op.batch_alter_table("unit") as unit:
        unit.add_column(sa.Column("log_version", sa.Integer(), nullable=False, server_default="1"))
        unit.add_column(sa.Column("due_version", sa.Integer(), nullable=False, server_default="0"))
        unit.add_column(sa.Column("due_rules", sa.Integer(), nullable=False, server_default="0"))
    with op.batch_alter_table("unit") as unit:
        for name in ("log_version", "due_version", "due_rules"):
            unit.alter_column(name, server_default=None)
    op.create_table(
        "job_done",
        sa.Column("job", TEXT, nullable=False),
        sa.Column("day", TEXT, nullable=False),
        sa.Column("done_at", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("job", "day", name=op.f("pk_job_done")),
        sqlite_with_rowid=False,
    )
    op.execute("INSERT INTO job_done (job, day, done_at) SELECT job, day, min(done_at) FROM day_done GROUP BY job, day")
    op.drop_table("day_done")
    with op.batch_alter_table("failure_statistics") as statistics:
        statistics.add_column(sa.Column("log_version", sa.Integer(), nullable=False, server_default="0"))
    with op.batch_alter_table("failure_statistics") as statistics:
        statistics.alter_column("log_version", server_default=None)
    _root_causes("luck_probability", "probability_of_chance", ("confirmed", "strong"), NEW_TERMS)
    _audit("noun", "resource", ("made", "created"))
    op.execute("ALTER TABLE replacement RENAME COLUMN told_on TO reported_on")


def downgrade() -> None:
    op.execute("ALTER TABLE replacement RENAME COLUMN reported_on TO told_on")
    _audit("resource", "noun", ("created", "made"))
    _root_causes("probability_of_chance", "luck_probability", ("strong", "confirmed"), FORMER_TERMS)
    with op.batch_alter_table("failure_statistics") as statistics:
        statistics.drop_column("log_version")
    op.create_table(
        "day_done",
        sa.Column("job", TEXT, nullable=False),
        sa.Column("site_id", KEY, nullable=False),
        sa.Column("day", TEXT, nullable=False),
        sa.Column("done_at", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_day_done_site_id")),
        sa.PrimaryKeyConstraint("job", "site_id", "day", name=op.f("pk_day_done")),
        sqlite_with_rowid=False,
    )
    op.execute(
        "INSERT INTO day_done (job, site_id, day, done_at) "
        "SELECT job, (SELECT min(id) FROM site), day, done_at FROM job_done WHERE EXISTS (SELECT 1 FROM site)"
    )
    op.drop_table("job_done")
    with op.batch_alter_table("unit") as unit:
        for name in ("due_rules", "due_version", "log_version"):
            unit.drop_column(name)


def _audit(former: str, column: str, action: tuple[str, str]) -> None:
    """Rename the column of the kind of record, its index, and the action of a creation."""
    op.drop_index(f"ix_audit_{former}_key", "audit")
    op.execute(f"ALTER TABLE audit RENAME COLUMN {former} TO {column}")
    op.create_index(f"ix_audit_{column}_key", "audit", [column, "key"])
    audit = sa.table("audit", sa.column("action"))
    op.execute(audit.update().where(audit.c.action == action[0]).values(action=action[1]))


def _root_causes(former: str, column: str, tier: tuple[str, str], terms: Terms) -> None:
    """Rename the probability and the gravest tier; what was found keeps its sentences until the next night."""
    with op.batch_alter_table("root_cause") as root_cause:
        root_cause.drop_constraint(op.f("ck_root_cause_tier"), type_="check")
        root_cause.drop_constraint(op.f(f"ck_root_cause_{former}"), type_="check")
        root_cause.alter_column(former, new_column_name=column)
    table = sa.table("root_cause", *(sa.column(name) for name in ("id", "tier", "document", "after_remedy")))
    op.execute(table.update().where(table.c.tier == tier[0]).values(tier=tier[1]))
    connection = op.get_bind()
    for identity, document, after in connection.execute(sa.select(table.c.id, table.c.document, table.c.after_remedy)):
        found = _renamed(json.loads(document), terms)
        if found.get("tier") == tier[0]:
            found["tier"] = tier[1]
        remedy = None if after is None else _text(_renamed(json.loads(after), terms))
        new = {"document": _text(found), "after_remedy": remedy}
        connection.execute(table.update().where(table.c.id == identity).values(new))
    with op.batch_alter_table("root_cause") as root_cause:
        root_cause.create_check_constraint(op.f("ck_root_cause_tier"), f"tier IN ('watch', 'probable', '{tier[1]}')")
        root_cause.create_check_constraint(op.f(f"ck_root_cause_{column}"), f"{column} BETWEEN 0 AND 1")


def _text(value: typing.Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _renamed(value: typing.Any, terms: Terms) -> typing.Any:
    """JSON with other names of fields, verdicts, and the first word of an explanation."""
    keys, verdicts, word = terms
    if isinstance(value, dict):
        return {keys.get(key, key): _renamed(each, terms) for key, each in value.items()}
    if isinstance(value, list):
        return [_renamed(each, terms) for each in value]
    if isinstance(value, str) and value.startswith(word[0]):
        return value.replace(*word, 1)
    return verdicts.get(value, value) if isinstance(value, str) else value
