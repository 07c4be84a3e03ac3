"""Visits: by whom a technician's token posts them, and what else a change of one concerns."""

from dataclasses import replace
from datetime import UTC, date, datetime
from uuid import UUID

import pytest

from service.domain.errors import Invalid
from service.schemas.reading import read
from service.schemas.visits import VisitCorrectionSchema
from service.storage.store import Store
from service.usecases.record import calls, moved_visits, visits

CALL = str(UUID(int=1))


def test_a_technicians_token_posts_visits_of_that_technician_alone(make) -> None:
    ada = replace(make.actor, technician="ada")

    assert visits.of_technician(ada, {}) == {"technician": "ada"}
    assert visits.of_technician(ada, {"technician": "ada", "by": "us"}) == {"technician": "ada", "by": "us"}
    with pytest.raises(Invalid, match="this token posts visits of ada"):
        visits.of_technician(ada, {"technician": "bo"})
    assert visits.of_technician(ada, {"by": "others"}) == {"by": "others"}  # reported, not made
    assert visits.of_technician(make.actor, {"technician": "bo"}) == {"technician": "bo"}


@pytest.fixture
def fleet(database, make):
    with database.writing() as store:
        make.site(store, "quay")
        for n in (1, 2, 3):
            make.unit(store, f"GU-{n}", "quay", installed_on=date(2024, 1, 1))
    return database


def test_a_void_is_not_taken_back_where_the_call_was_for_another_unit(fleet, make) -> None:
    called = {"received_at": datetime(2026, 6, 1, 8, tzinfo=UTC), "symptom": "warm_pour", "unit": "GU-1"}
    with fleet.writing() as store:
        calls.record_call(store, make.actor, {"id": CALL, **called}, fingerprint="x")
        visit = make.visit(store, "GU-1", "2026-06-01T18:00:00Z", calls=[CALL])
        visits.void_visit(store, make.actor, store.visits.get(visit), "x")
        calls.change_call(store, make.actor, store.calls.get(CALL), {"unit": "GU-2"})
        with pytest.raises(Invalid) as refused:
            visits.unvoid_visit(store, make.actor, store.visits.get(visit), "y")

    assert [(each.field, each.message) for each in refused.value.faults] == [("calls.0", "is a call for the unit GU-2")]


def test_a_kept_history_follows_a_visit_that_was_moved_away_and_corrected(fleet, make) -> None:
    with fleet.writing() as store:

        def logs(of: Store):
            places = [store.units.place(f"GU-{n}") for n in (1, 2, 3)]
            return [of.unit_logs.get(each.id, each.log_version) for each in places]

        visit = make.visit(store, "GU-1", "2026-06-01T18:00:00Z", outcome="down")
        moved_visits.move_visit(store, make.actor, store.visits.get(visit), "GU-2", "the wrong one")
        assert [len(each.visits) for each in logs(store)] == [0, 1, 0]
        changes = read(VisitCorrectionSchema(partial=True), {"outcome": "running", "why": "x"})
        visits.correct_visit(store, make.actor, store.visits.get(visit), changes, body="{}")
        kept = logs(store)

        assert kept == logs(Store(store.link))
        assert [[each.outcome for each in log.moved_away] for log in kept] == [["running"], [], []]
