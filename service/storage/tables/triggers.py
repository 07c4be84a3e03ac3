"""Triggers that keep a table's rows as they were written, whoever asks: neither updated nor deleted nor replaced."""

from sqlalchemy import DDL, Table, event

REFUSAL = "the audit trail is only added to"
# REPLACE deletes the former row without running the trigger for deletions, so it is refused at the insertion.
SQLITE = {
    "no_update": "BEFORE UPDATE ON {table}",
    "no_delete": "BEFORE DELETE ON {table}",
    "no_replace": "BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {key} = NEW.{key})",
}
POSTGRESQL = {
    "no_update": "BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW",
    "no_truncate": "BEFORE TRUNCATE ON {table} FOR EACH STATEMENT",
}
REFUSE = f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
CALL = "EXECUTE FUNCTION refuse_change()"
FUNCTION = (
    "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
    f"$$ BEGIN RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'restrict_violation'; END $$"
)


def only_added_to(table: Table) -> None:
    """Create the triggers with the table; the migrations do so in their own words."""
    (key,) = table.primary_key.columns
    statements = [("postgresql", FUNCTION)]
    for dialect, triggers, act in (("sqlite", SQLITE, REFUSE), ("postgresql", POSTGRESQL, CALL)):
        statements += [
            (dialect, f"CREATE TRIGGER {table.name}_{name} {when.format(table=table.name, key=key.name)} {act}")
            for name, when in triggers.items()
        ]
    for dialect, statement in statements:
        event.listen(table, "after_create", DDL(statement).execute_if(dialect=dialect))  # type: ignore[no-untyped-call]
