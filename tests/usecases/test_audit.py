"""The chain of the audit trail: what it proves, that nobody changes a row, and in whose name an import writes."""

import hashlib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta

import orjson
import pytest
from sqlalchemy import select, text

from service.domain.audit import NO_ENTRY, AuditFilter
from service.schemas.transfer import read_lines
from service.storage.tables import audit as entries
from service.storage.tables import audit_chain
from service.usecases import audit
from service.usecases.record import fleet
from service.usecases.transfer import importing
from tests.emptying import unguarded

VISIT = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"


@pytest.fixture
def filled(database, make):
    """Three entries: a customer, a site and a unit."""
    with database.writing() as store:
        make.site(store, "quay")
    with database.writing() as store:
        make.unit(store, "GU-1", "quay")
    return database


def verified(database, noted=None):
    with database.lasting() as store:
        return audit.verify(store, noted)


def netstring(value) -> bytes:
    """A field as the chain takes it: https://cr.yp.to/proto/netstrings.txt, and `-` for none."""
    return b"-," if value is None else b"%d:%s," % (len(str(value).encode()), str(value).encode())


def test_each_hash_is_that_of_the_entry_before_and_this_one(filled):
    order = ("id", "at", "actor", "role", "token_id", "technician", "request_id", "action", "resource", "key")
    with filled.reading() as store:
        rows = [row for row in store.link.core(select(*(entries.c[n] for n in (*order, "before", "after"))))]
        kept = [row[0] for row in store.link.core(select(audit_chain.c.hash).order_by(audit_chain.c.number))]
    head, expected = "0" * 64, []
    for row in sorted(rows):
        head = hashlib.sha256(head.encode() + b"".join(map(netstring, row))).hexdigest()
        expected.append(head)

    assert kept == expected
    assert len(kept) == 3


def test_a_whole_chain_is_verified_with_count_and_head(filled):
    proof = verified(filled)

    with filled.reading() as store:
        newest = store.audit.page(AuditFilter(), before=None, limit=1)[0]
    assert (proof.entries, proof.head, proof.fault) == (3, newest.hash, None)


def test_a_trail_without_entries_is_whole(database):
    assert verified(database) == audit.Proof(0, NO_ENTRY, None, None)


@pytest.mark.parametrize("table", ["audit", "audit_chain"])
@pytest.mark.parametrize(
    "act", ["UPDATE {table} SET {column} = 'x'", "DELETE FROM {table}", "DELETE FROM {table} WHERE {key} = 1"]
)
def test_no_row_is_changed_or_deleted(filled, table, act):
    column, key = ("actor", "id") if table == "audit" else ("hash", "number")
    with pytest.raises(Exception, match="only added to"), filled.writing() as store:
        store.link.core(text(act.format(table=table, column=column, key=key)))

    assert verified(filled).entries == 3


def test_no_row_is_replaced(filled):
    """SQLite's REPLACE runs no trigger for deletions; PostgreSQL's TRUNCATE none for rows."""
    with filled.reading() as store:
        dialect = store.link.dialect
    replaced = "REPLACE INTO audit_chain (number, audit_id, hash) VALUES (1, 1, 'x')"
    with pytest.raises(Exception, match="only added to"), filled.writing() as store:
        store.link.core(text(replaced if dialect == "sqlite" else "TRUNCATE audit_chain"))


@pytest.mark.parametrize(
    ("act", "fault"),
    [
        ("UPDATE audit SET actor = 'nobody' WHERE id = 2", "entry 2, link 2 of the chain, does not fit"),
        ("UPDATE audit SET technician = 'rhea' WHERE id = 3", "entry 3, link 3 of the chain, does not fit"),
        ("UPDATE audit SET before = '' WHERE id = 1", "entry 1, link 1 of the chain, does not fit"),
        ("UPDATE audit_chain SET hash = 'x' WHERE number = 2", "entry 2, link 2 of the chain, does not fit"),
        ("DELETE FROM audit_chain WHERE number = 1", "link 1 of the chain is missing; the next is 2, of entry 2"),
        ("DELETE FROM audit_chain WHERE number = 3", "entry 3 is not in the chain"),
    ],
)
def test_the_first_entry_that_does_not_fit_is_named(filled, act, fault):
    with filled.writing() as store, unguarded(store.link):
        store.link.core(text(act))

    assert (verified(filled).fault or "").startswith(fault)


def test_a_trail_cut_off_at_its_end_is_found_by_a_noted_head(filled):
    head = verified(filled).head
    assert verified(filled, head).noted == 3
    with filled.writing() as store, unguarded(store.link):
        store.link.core(text("DELETE FROM audit_chain WHERE number = 3"))
        store.link.core(text("DELETE FROM audit WHERE id = 3"))

    assert (verified(filled).fault, verified(filled, head).noted) == (None, None)


def test_a_noted_head_stays_in_the_chain_when_entries_follow(filled, make):
    head = verified(filled).head
    with filled.writing() as store:
        make.unit(store, "GU-2", "quay")

    assert (verified(filled, head).noted, verified(filled).entries) == (3, 4)


def test_what_is_taken_back_leaves_no_link(filled, make):
    def broken() -> None:
        with filled.writing() as store:
            make.unit(store, "GU-2", "quay")
            raise RuntimeError("broken")

    with pytest.raises(RuntimeError):
        broken()
    with filled.writing() as store:
        make.unit(store, "GU-3", "quay")

    assert (verified(filled).entries, verified(filled).fault) == (4, None)


def test_writers_at_once_make_one_chain(filled, new_database, make):
    other = new_database()

    def register(number: int) -> None:
        database = (filled, other)[number % 2]
        with database.writing() as store:
            fleet.add_customer(store, make.actor, {"code": f"c{number}", "name": "x"})

    with ThreadPoolExecutor(8) as threads:
        list(threads.map(register, range(40)))

    assert (verified(filled).entries, verified(filled).fault) == (43, None)


def test_an_import_writes_in_the_callers_name_and_time(filled, make):
    """The file names Tobin and last week; the entries name the caller, the request and now, Tobin inside `after`."""
    at = "2026-06-02T18:00:00.000000Z"
    visit = {
        "record": "visit",
        "id": VISIT,
        "unit": "GU-1",
        "kind": "maintenance",
        "arrived_at": "2026-06-01T18:00:00Z",
    }
    correction = {"record": "correction", "visit": VISIT, "at": at, "by": "Tobin"}
    lines = [
        visit,
        correction | {"correction": {"why": "typo", "work": "cleaned"}},
        {"record": "void", "visit": VISIT, "at": at, "by": "Tobin", "reason": "wrong unit"},
    ]
    caller = replace(make.actor, name="Anna", request_id="r1", at=make.now + timedelta(hours=1), token_id="ab12")
    with filled.writing() as store:
        importing.import_records(store, caller, read_lines(map(orjson.dumps, lines)), keep_good=False)
    with filled.reading() as store:
        written = store.audit.page(AuditFilter(key=VISIT), before=None, limit=9)
        (corrected,) = store.visits.corrections(VISIT)
        void = store.visits.get(VISIT).void

    assert {(each.actor, each.request_id, each.at, each.token_id) for each in written} == {
        ("Anna", "r1", caller.at, "ab12")
    }
    assert [each.action for each in written] == ["imported"] * 3
    inside = [orjson.loads(each.after) for each in written[:2]]
    assert [(each["by"], each["at"]) for each in inside] == [("Tobin", at)] * 2
    assert (corrected.by, void.by, void.at.date().isoformat()) == ("Tobin", "Tobin", "2026-06-02")
