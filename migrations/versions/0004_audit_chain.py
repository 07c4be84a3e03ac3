"""The audit trail chained by hashes and only added to; tokens that expire, belong to a technician, or only read."""

import hashlib
import typing

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FIELDS = (
    *("id", "at", "actor", "role", "token_id", "technician", "request_id"),
    *("action", "resource", "key", "before", "after"),
)
CHUNK = 1000
REFUSAL = "the audit trail is only added to"
ROLES = "'technician', 'dispatcher', 'owner'"
TABLES = {"audit": "id", "audit_chain": "number"}
SQLITE = {
    "no_update": "BEFORE UPDATE ON {table}",
    "no_delete": "BEFORE DELETE ON {table}",
    "no_replace": "BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {key} = NEW.{key})",
}
POSTGRESQL = {
    "no_update": "BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW",
    "no_truncate": "BEFORE TRUNCATE ON {table} FOR EACH STATEMENT",
}
FUNCTION = (
    "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
    f"$$ BEGIN RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'restrict_violation'; END $$"
)


def upgrade() -> None:
    with op.batch_alter_table("token", table_kwargs={"sqlite_with_rowid": False}) as token:
        token.add_column(sa.Column("technician_id", KEY, nullable=True))
        token.add_column(sa.Column("expires_at", TEXT, nullable=True))
        token.add_column(sa.Column("last_used_at", TEXT, nullable=True))
        token.create_foreign_key(op.f("fk_token_technician_id"), "technician", ["technician_id"], ["id"])
        token.drop_constraint(op.f("ck_token_role"), type_="check")
        token.create_check_constraint(op.f("ck_token_role"), f"role IN ({ROLES}, 'reader')")
    op.add_column("audit", sa.Column("token_id", TEXT, nullable=True))
    op.add_column("audit", sa.Column("technician", TEXT, nullable=True))
    op.create_table(
        "audit_chain",
        sa.Column("number", KEY, autoincrement=False, nullable=False),
        sa.Column("audit_id", KEY, nullable=False),
        sa.Column("hash", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["audit_id"], ["audit.id"], name=op.f("fk_audit_chain_audit_id")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_audit_chain")),
        sa.UniqueConstraint("audit_id", name=op.f("uq_audit_chain_audit_id")),
    )
    _chain()
    if _on_postgresql():
        op.execute(FUNCTION)
    for _, _, statement in _triggers():
        op.execute(statement)


def downgrade() -> None:
    for table, trigger, _ in _triggers():
        op.execute(f"DROP TRIGGER {trigger}" + (f" ON {table}" if _on_postgresql() else ""))
    if _on_postgresql():
        op.execute("DROP FUNCTION refuse_change()")
    op.drop_table("audit_chain")
    with op.batch_alter_table("audit") as audit:
        audit.drop_column("technician")
        audit.drop_column("token_id")
    op.execute("DELETE FROM token WHERE role = 'reader'")  # as any other role it could do more
    with op.batch_alter_table("token", table_kwargs={"sqlite_with_rowid": False}) as token:
        token.drop_constraint(op.f("ck_token_role"), type_="check")
        token.create_check_constraint(op.f("ck_token_role"), f"role IN ({ROLES})")
        token.drop_constraint(op.f("fk_token_technician_id"), type_="foreignkey")
        for name in ("last_used_at", "expires_at", "technician_id"):
            token.drop_column(name)


def _on_postgresql() -> bool:
    return op.get_bind().dialect.name == "postgresql"


def _triggers() -> typing.Iterator[tuple[str, str, str]]:
    """(table, trigger, statement that creates it)."""
    kinds = POSTGRESQL if _on_postgresql() else SQLITE
    act = "EXECUTE FUNCTION refuse_change()" if _on_postgresql() else f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
    for table, key in TABLES.items():
        for name, when in kinds.items():
            trigger = f"{table}_{name}"
            yield table, trigger, f"CREATE TRIGGER {trigger} {when.format(table=table, key=key)} {act}"


def _chain() -> None:
    """Chain the entries that there are, oldest first."""
    audit = sa.table("audit", *(sa.column(name) for name in FIELDS))
    chain = sa.table("audit_chain", *(sa.column(name) for name in ("number", "audit_id", "hash")))
    connection, head, number, last = op.get_bind(), "0" * 64, 0, -1
    query = sa.select(*(audit.c[name] for name in FIELDS)).order_by(audit.c.id).limit(CHUNK)
    while rows := connection.execute(query.where(audit.c.id > last)).fetchall():
        links = []
        for row in rows:
            head = hashlib.sha256(head.encode() + _canonical(row)).hexdigest()
            number, last = number + 1, row[0]
            links.append({"number": number, "audit_id": last, "hash": head})
        connection.execute(chain.insert(), links)


def _canonical(row: typing.Sequence[object]) -> bytes:
    parts = [None if field is None else str(field).encode() for field in row]
    return b"".join(b"-," if part is None else b"%d:%s," % (len(part), part) for part in parts)
