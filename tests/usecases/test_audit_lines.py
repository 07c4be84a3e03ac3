"""The audit trail in a file: stored where there is none, left out where there is one, refused where altered."""

from datetime import UTC, datetime

import orjson
import pytest
from sqlalchemy import text

from service.domain.audit import Actor, AuditFilter
from service.schemas.transfer import read_lines
from service.storage.tables import metadata
from service.usecases import audit, tokens
from service.usecases.transfer import exporting, importing, token_lines
from tests.emptying import empty

RHEA = {"record": "technician", "code": "rhea", "name": "Rhea"}
IMPORTER = Actor("command line", "owner", None, datetime(2026, 6, 10, 9, tzinfo=UTC))


@pytest.fixture
def exported(database, make):
    """The lines of a database with three entries, which is empty afterwards and counts ids from 1 again."""
    with database.writing() as store:
        make.site(store, "quay")
    with database.writing() as store:
        make.unit(store, "GU-1", "quay")
    lines = export(database)
    emptied(database)
    return lines


def emptied(database):
    with database.writing() as store:
        empty(store.link, list(reversed(metadata.sorted_tables)))
        if store.link.dialect == "postgresql":
            store.link.core(text("SELECT setval(pg_get_serial_sequence('audit', 'id'), 1, false)"))


def export(database):
    with database.lasting() as store:
        return [orjson.loads(orjson.dumps(record)) for record in exporting.records(store)]


def take_in(database, records, *, keep_good=False, with_tokens=False):
    with database.writing() as store:
        lines = read_lines(map(orjson.dumps, records))
        return importing.import_records(store, IMPORTER, lines, keep_good=keep_good, tokens=with_tokens)


def trail(records):
    return [record for record in records if record["record"] == "audit_entry"]


def verified(database):
    with database.lasting() as store:
        return audit.verify(store)


def actions(database):
    with database.reading() as store:
        found = store.audit.page(AuditFilter(), before=None, limit=100)
    return [(entry.id, entry.action, entry.resource) for entry in reversed(found)]


def test_an_empty_trail_takes_the_entries_with_their_hashes_and_nothing_else(database, exported, make):
    result = take_in(database, exported)
    again = trail(export(database))

    assert result.added["audit_entry"] == len(trail(exported)) == 3
    assert again == trail(exported)
    proof = verified(database)
    assert (proof.fault, proof.entries, proof.head) == (None, 3, again[-1]["hash"])
    with database.writing() as store:
        make.site(store, "pier")
    assert [(number, resource) for number, _, resource in actions(database)][3:] == [(4, "site")]
    assert verified(database).fault is None


def test_what_a_trail_does_not_account_for_gets_an_entry(database, exported):
    """A trail alone is no licence: somebody can chain one entry and put any records behind it."""
    take_in(database, [*exported, RHEA])

    assert actions(database)[3:] == [(4, "created", "technician")]
    assert verified(database).fault is None


def test_a_token_of_another_role_than_in_its_trail_gets_an_entry(database):
    with database.writing() as store:
        tokens.create(store, name="Ida", role="technician", actor=IMPORTER)
    with database.lasting() as store:
        exported = [orjson.loads(orjson.dumps(each)) for each in (*exporting.records(store), *token_lines.lines(store))]
    emptied(database)
    take_in(database, exported, with_tokens=True)
    assert len(actions(database)) == 1
    emptied(database)
    take_in(database, [*exported[:-1], exported[-1] | {"role": "owner"}], with_tokens=True)

    assert actions(database)[1:] == [(2, "imported", "token")]


def test_the_same_file_again_changes_nothing(database, exported):
    take_in(database, exported)
    before = export(database)
    result = take_in(database, exported)

    assert (result.added, result.left_out, result.unchanged["audit_entry"]) == ({}, {}, 3)
    assert export(database) == before


def test_entries_that_came_alone_leave_the_next_id_free(database, exported, make):
    take_in(database, trail(exported))
    with database.writing() as store:
        make.site(store, "pier")

    assert (verified(database).fault, verified(database).entries) == (None, 5)


def test_a_trail_of_its_own_is_not_mixed_with_another(database, exported):
    take_in(database, [RHEA])
    before = trail(export(database))
    result = take_in(database, exported)

    assert (result.errors, result.left_out) == ([], {"audit_entry": 3})
    assert trail(export(database))[: len(before)] == before
    assert "audit" not in {resource for _, _, resource in actions(database)}
    assert verified(database).fault is None


ALTERED = {
    "another author": lambda lines: lines[1].update(actor="nobody"),
    "another text": lambda lines: lines[1].update(after=lines[1]["after"] + " "),
    "another hash": lambda lines: lines[1].update(hash="0" * 64),
    "one is missing": lambda lines: lines.pop(1),
    "the first is missing": lambda lines: lines.pop(0),
    "another order": lambda lines: lines.insert(0, lines.pop(1)),
}


@pytest.mark.parametrize("alter", ALTERED.values(), ids=ALTERED)
def test_an_altered_trail_is_a_fault_and_nothing_is_stored(database, exported, alter):
    alter(exported)
    with pytest.raises(importing.NothingStored) as refusal:
        take_in(database, exported)

    assert {error.field for error in refusal.value.tally.errors} == {"hash"}
    assert export(database) == []


def test_an_altered_entry_is_a_fault_also_where_the_trail_is_left_out(database, exported):
    take_in(database, [RHEA])
    exported[1]["actor"] = "nobody"
    with pytest.raises(importing.NothingStored) as refusal:
        take_in(database, exported)

    assert [(error.line, error.field) for error in refusal.value.tally.errors] == [(2, "hash")]


def test_of_an_altered_trail_the_entries_before_the_fault_are_kept_when_asked(database, exported):
    exported[1]["actor"] = "nobody"
    result = take_in(database, exported, keep_good=True)

    assert (result.added["audit_entry"], result.left_out["audit_entry"], len(result.errors)) == (1, 1, 1)
    assert verified(database).fault is None
    assert [resource for _, _, resource in actions(database)] == ["customer", "customer", "site", "unit", "audit"]


def test_a_whole_trail_with_a_wrong_line_behind_it_is_followed_by_an_entry_of_the_importer(database, exported):
    take_in(database, [*exported, {"record": "unit", "tag": "GU-2"}], keep_good=True)

    last = trail(export(database))[-1]
    assert (last["actor"], last["action"], last["resource"]) == ("command line", "imported", "audit")
    assert orjson.loads(last["after"]) == {"entries": 3}


def test_an_entry_that_is_there_twice_is_a_fault(database, exported):
    with pytest.raises(importing.NothingStored):
        take_in(database, [*trail(exported), trail(exported)[0]])
