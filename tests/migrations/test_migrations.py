"""Every migration both ways with data in every table, on both engines; and what a failed one leaves behind: nothing."""

import ast
import json
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text

from service.domain.audit import AuditFilter
from service.domain.errors import Unavailable
from service.domain.instants import parse_instant
from service.storage.engine.database import open_database, open_engine
from service.storage.migrating import config, downgrade, head, require_head, upgrade
from service.storage.revision import is_newest, newest, revisions
from service.storage.store import Store
from service.storage.tables import metadata

MIGRATIONS = Path(__file__).parents[2] / "migrations"
SCRIPTS = ScriptDirectory.from_config(config(MIGRATIONS))
REVISIONS = [script.revision for script in reversed(list(SCRIPTS.walk_revisions()))]
NEWEST = REVISIONS[-1]
REPLACED = {"0003": {"day_done"}}  # tables whose rows live on in others
ADDED = {"0029": {"change": 1}}  # rows that a migration adds to a database in use
VISIT = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"


def test_there_is_one_head_and_one_way_to_it() -> None:
    assert SCRIPTS.get_heads() == [NEWEST] == [head(MIGRATIONS)] == [newest(MIGRATIONS)]
    assert [script.down_revision for script in SCRIPTS.walk_revisions()] == [*reversed(REVISIONS[:-1]), None]
    assert revisions(MIGRATIONS) == set(REVISIONS)
    assert [f"{n:04}" for n in range(1, len(REVISIONS) + 1)] == REVISIONS


def test_a_migration_knows_nothing_of_the_program() -> None:
    for path in (MIGRATIONS / "versions").glob("*.py"):
        nodes = ast.walk(ast.parse(path.read_text()))
        imported = {node.module for node in nodes if isinstance(node, ast.ImportFrom)}

        assert imported <= {"alembic"}, path.name


def test_the_data_of_a_revision_fill_every_table(base) -> None:
    upgrade(base.url, MIGRATIONS)
    base.fill(NEWEST)

    assert {table for table, count in base.counted().items() if count == 0} == set()


@pytest.mark.parametrize("revision", REVISIONS)
def test_each_migration_goes_up_and_down_with_data(base, revision) -> None:
    former = SCRIPTS.get_revision(revision).down_revision
    if former is not None:
        upgrade(base.url, MIGRATIONS, former)
        base.fill(former)
    before = base.schema(), base.counted() | {"alembic_version": 0}
    kept = {table: rows for table, rows in before[1].items() if table not in REPLACED.get(revision, ())}
    upgrade(base.url, MIGRATIONS, revision)
    added = {table: kept[table] + count for table, count in ADDED.get(revision, {}).items()}
    assert base.counted().items() >= {**kept, **added, "alembic_version": 1}.items()
    if former is None:
        base.fill(revision)
    downgrade(base.url, MIGRATIONS, former or "base")

    assert base.schema() == before[0]
    assert base.counted() | {"alembic_version": 0} == before[1]


def test_up_down_and_up_again_is_the_same_as_up(base) -> None:
    """One walk up, down to nothing and up again: the schema of a revision is the same each time."""
    empty = base.schema()
    up = {}
    for revision in REVISIONS:
        upgrade(base.url, MIGRATIONS, revision)
        up[revision] = base.schema()
    for revision in reversed(REVISIONS[:-1]):
        downgrade(base.url, MIGRATIONS, revision)
        assert base.schema() == up[revision], revision
    downgrade(base.url, MIGRATIONS, "base")
    assert base.schema() == empty
    for revision in REVISIONS:
        upgrade(base.url, MIGRATIONS, revision)
        assert base.schema() == up[revision], revision


def test_the_newest_schema_is_that_of_the_tables(base) -> None:
    upgrade(base.url, MIGRATIONS)
    engine = open_engine(base.url)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True, "compare_server_default": True})
        differences = compare_metadata(context, metadata)
    engine.dispose()

    assert differences == []


def test_the_newest_schema_has_every_check_and_name_of_the_tables(base) -> None:
    """Alembic's own comparison passes over check constraints, names of keys and WITHOUT ROWID."""
    upgrade(base.url, MIGRATIONS)
    migrated = base.schema()
    downgrade(base.url, MIGRATIONS, "base")
    engine = open_engine(base.url)
    metadata.create_all(engine)
    engine.dispose()

    assert base.schema() == migrated


def test_every_constraint_has_a_name() -> None:
    unnamed = [c for table in metadata.tables.values() for c in table.constraints if c.name is None]

    assert unnamed == []


@pytest.mark.parametrize("revision", REVISIONS)
def test_the_rows_of_a_revision_are_read_by_the_program_of_today(base, revision) -> None:
    upgrade(base.url, MIGRATIONS, revision)
    base.fill(revision)
    upgrade(base.url, MIGRATIONS)
    database = open_database(base.url, Store)
    with database.reading() as store:
        assert store.customers.get("lantern").contact == "Ida"
        assert str(store.technicians.get("rhea").left_on) == "2026-01-01"
        assert store.sites.get("lantern-quay").closed == {0, 1}
        assert {unit.tag: str(unit.retired_on) for unit in units(store)} == {"GU-0007": "None", "GU-0008": "2025-01-01"}
        assert unit_facts(store.units.get("GU-0007")) == ("115 V", True, "120 ft", ("pump-1",), "2026-06-09")
        assert visit_facts(store.visits.get(VISIT)) == ("24.5 Brix", "20 degC", "blocked", "others", "wet floor")
        assert store.visits.get(VISIT.replace("b77", "b78")).void.reason == "wrong unit"
        assert [made.why for made in store.visits.corrections(VISIT)] == ["typo"]
        assert store.task_settings.all()["pump_check"].changes == {"interval": "4 months"}
        assert store.task_settings.at(1)["pump_check"].changes == {"minutes": 25}
        assert [item.task for item in store.due.at(1)] == ["follow_up"]
        assert store.answers.first("", "", VISIT) == ("f", VISIT, "{}")
        assert store.tokens.find("ab12").revoked_at == parse_instant("2026-06-09T19:05:00Z")
        (entry,) = store.audit.page(AuditFilter(), before=None, limit=9)
        assert (entry.resource, entry.key, entry.action) == ("visit", VISIT, "created")
        assert store.jobs_done.done("due_items", "2026-06-09")
    database.close()


FOUND = {
    "unit": "GU-0007", "tier": "confirmed", "luck_probability": 0.01, "other_explanations": ["luck (1 in 100)"],
    "events": [{"day": "2026-06-05", "soon_after": ["pump, 12 days before"]}], "explanation": "Pump \u00b7 failed",
}  # fmt: skip
RENAMED = {
    "unit": "GU-0007", "tier": "strong", "probability_of_chance": 0.01, "other_explanations": ["chance (1 in 100)"],
    "events": [{"day": "2026-06-05", "preceding_failures": ["pump, 12 days before"]}],
    "explanation": "Pump \u00b7 failed",
}  # fmt: skip


def test_an_audit_entry_takes_the_new_terms_and_back(base) -> None:
    def entry(column: str) -> tuple[str, ...]:
        with base.connected() as connection:
            return tuple(connection.execute(text(f"SELECT action, {column} FROM audit")).one())

    upgrade(base.url, MIGRATIONS, "0002")
    base.fill("0002")
    upgrade(base.url, MIGRATIONS, "0003")
    assert entry("resource") == ("created", "visit")
    downgrade(base.url, MIGRATIONS, "0002")
    assert entry("noun") == ("made", "visit")


@pytest.mark.parametrize(
    ("former", "verdict"), [("it goes on", "still failing"), ("too early to tell", "too early to say"), (None, None)]
)
def test_root_causes_take_the_new_terms_and_back(base, former, verdict) -> None:
    def row() -> dict[str, object]:
        with base.connected() as connection:
            found = dict(connection.execute(text("SELECT * FROM root_cause")).one()._mapping)
        return found | {name: found[name] and json.loads(found[name]) for name in ("document", "after_remedy")}

    upgrade(base.url, MIGRATIONS, "0002")
    base.fill("0002")
    remedy = former and json.dumps({"before": 4, "verdict": former})
    with base.connected() as connection:
        connection.execute(
            text("UPDATE root_cause SET tier = 'confirmed', document = :document, after_remedy = :remedy"),
            {"document": json.dumps(FOUND), "remedy": remedy},
        )
    before = row()
    upgrade(base.url, MIGRATIONS, "0003")
    after = row()

    changed = {"tier": "strong", "document": RENAMED, "after_remedy": verdict and {"before": 4, "verdict": verdict}}
    kept = {name: value for name, value in before.items() if name != "luck_probability"}
    assert after == kept | {"probability_of_chance": 0.04} | changed
    downgrade(base.url, MIGRATIONS, "0002")
    assert row() == before


def units(store):
    from service.domain.record.fleet import UnitFilter

    return store.units.page(UnitFilter(retired=True), after=None, limit=9)


def unit_facts(unit):
    switch, pump = unit.components
    length = unit.trunks[0].runs[0].length.entered
    return unit.supply.voltage.entered, unit.refrigeration.low_side_port, length, switch.feeds, str(pump.removed_on)


def visit_facts(visit):
    reading = visit.readings[0]
    return (
        reading.value.entered,
        reading.sample_temperature.entered,
        visit.tasks[0].as_found,
        visit.replacements[0].by,
        visit.observations[0].note,
    )


# What fails


HALF = 'op.create_table("half", sa.Column("n", sa.Integer))\nop.execute("DELETE FROM due_item")\n'


@pytest.mark.parametrize("start", ["base", NEWEST])
def test_a_migration_that_fails_leaves_nothing_half_applied(base, with_another, start) -> None:
    folder = with_another(HALF + "raise RuntimeError('broken')", behind=NEWEST)
    if start == NEWEST:
        upgrade(base.url, MIGRATIONS)
        base.fill(NEWEST)
    before = base.schema(), base.counted()
    with pytest.raises(RuntimeError, match="broken"):
        upgrade(base.url, folder)

    assert (base.schema(), base.counted()) == before


def test_a_statement_that_fails_leaves_nothing_half_applied(base, with_another) -> None:
    upgrade(base.url, MIGRATIONS)
    base.fill(NEWEST)
    before = base.schema(), base.counted()
    with pytest.raises(Exception, match="nowhere"):
        upgrade(base.url, with_another(HALF + 'op.execute("DELETE FROM nowhere")', behind=NEWEST))

    assert (base.schema(), base.counted()) == before


def test_a_migration_that_would_leave_orphans_is_refused(base, with_another) -> None:
    upgrade(base.url, MIGRATIONS)
    base.fill(NEWEST)
    with pytest.raises(Exception, match=r"what they point to|refers to something"):
        upgrade(base.url, with_another('op.execute("DELETE FROM site WHERE id = 2")', behind=NEWEST))

    assert base.counted()["site"] == 2


def test_a_table_that_is_rebuilt_keeps_the_rows_that_point_to_it(base, with_another) -> None:
    upgrade(base.url, MIGRATIONS)
    base.fill(NEWEST)
    before = base.counted()
    how = 'recreate="always" if op.get_bind().dialect.name == "sqlite" else "never"'
    rebuild = f'with op.batch_alter_table("unit", {how}) as batch:\n    batch.add_column(sa.Column("colour", sa.Text))'
    upgrade(base.url, with_another(rebuild, behind=NEWEST))

    assert base.counted() == before


def test_foreign_keys_hold_after_an_upgrade(base) -> None:
    upgrade(base.url, MIGRATIONS)
    base.fill(NEWEST)
    with pytest.raises(Exception, match=r"(?i)foreign key"), base.connected() as connection:
        connection.execute(text("DELETE FROM customer"))


def test_a_schema_that_is_not_the_newest_is_not_served(base) -> None:
    database = open_database(base.url, Store)
    for revision in REVISIONS:
        with pytest.raises(Unavailable, match="glycol-fleet migrate"):
            require_head(database, MIGRATIONS)
        assert not is_newest(database.engine, MIGRATIONS)
        upgrade(base.url, MIGRATIONS, revision)
    require_head(database, MIGRATIONS)
    assert is_newest(database.engine, MIGRATIONS)
    database.close()
