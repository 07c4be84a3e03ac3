"""One loading rule: whatever made a log, it is what the tables say; cut by either time, it is what was there then."""

from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.domain.maintenance.due import due_of
from service.domain.record.unit_log import UnitLog
from service.schemas import reading
from service.schemas.visits import VisitCorrectionSchema
from service.storage.store import Store
from service.storage.unit_log import UnitLogs
from service.usecases.maintenance import due, tasks
from service.usecases.record import calls, pauses, visits
from service.usecases.record.fleet import change_site
from service.usecases.system import FleetDatabase
from tests.usecases.conftest import NOW, Maker

ONE, TWO = (str(UUID(int=n)) for n in (1, 2))
READ = {"quantity": "bath_temperature", "value": "28 degF", "when": "as_found"}
SWITCH = {"component": "switch-1", "kind": "power_switch", "reason": "failed", "condition": "burnt"}
FULL: dict[str, Any] = {
    "left_at": "2026-06-01T19:00:00Z",
    "complaint": {"symptom": "warm_pour", "reported_at": "2026-06-01T10:00:00Z", "words": "warm"},
    "readings": [READ, READ | {"when": "as_left", "value": "31.5 degF", "at": "2026-06-01T18:30:00Z"}],
    "tasks": [{"task": "condenser_clean", "result": "done", "as_found": "heavy"}],
    "replacements": [
        SWITCH | {"evidence": "seen", "note": "loose"},
        SWITCH | {"evidence": "reported", "on": "2026-05-20", "by": "others"},
    ],
    "observations": [{"code": "glycol_leak"}],
    "outcome": "running",
}


class TakenBack(Exception):
    """Ends a transaction without a trace."""


def read(store: Store, tag: str = "GU-1", *, fresh: bool = False) -> UnitLog:
    """The unit's log: as this process has it, or loaded anew."""
    return (Store(store.link) if fresh else store).log_of(tag)


@pytest.fixture
def fleet(database: FleetDatabase, make: Maker) -> FleetDatabase:
    with database.writing() as store:
        make.site(store, "quay")
        for n in (1, 2, 3):
            make.unit(store, f"GU-{n}", "quay", installed_on=date(2024, 1, 1))
    return database


def then(make: Maker, hours: float) -> Any:
    """The maker's actor, so many hours later."""
    return replace(make.actor, at=NOW + timedelta(hours=hours))


STEP = st.one_of(
    st.tuples(st.just("visit"), st.integers(0, 400), st.booleans()),
    st.tuples(st.just("correct"), st.integers(0, 9), st.sampled_from(["running", "down", None])),
    st.tuples(st.just("void"), st.integers(0, 9)),
    st.tuples(st.just("unvoid"), st.integers(0, 9)),
    st.tuples(st.just("set"), st.sampled_from(["30 days", "2 months", None])),
    st.tuples(st.just("close"), st.sampled_from(["monday", "tuesday"])),
    st.tuples(st.just("pause"), st.sampled_from(["unit", "site"]), st.sampled_from([date(2026, 7, 1), None])),
    st.tuples(st.just("end"), st.sampled_from(["unit", "site"]), st.booleans()),
)


def play_pause(store: Store, step: tuple[Any, ...], actor: Any) -> None:
    """Pause the unit or its site once, or end that or take it back."""
    kind, of, how = step
    key = "GU-1" if of == "unit" else "quay"
    former = store.pauses.of(of, key)
    if kind == "pause" and not former:
        pauses.add_pause(store, actor, of, key, {"from": date(2026, 5, 1), "until": how, "reason": "x"})
    elif kind == "end" and former:
        pauses.change_pause(store, actor, of, key, former[0], {"until": date(2026, 6, 1), "withdrawn": how})


def play(store: Store, make: Maker, step: tuple[Any, ...], known: list[str], actor: Any) -> None:
    """One step of a story; one that nobody could make (nothing to correct yet) is passed over."""
    kind, *rest = step
    if kind == "visit":
        make.actor = actor
        arrived = datetime(2025, 3, 1, 18) + timedelta(days=rest[0])
        own = {"replacements": [{**SWITCH, "evidence": "seen"}], "readings": [READ]} if rest[1] else {}
        known.append(make.visit(store, "GU-1", f"{arrived:%Y-%m-%dT%H:%M:%SZ}", outcome="down", **own))
    elif kind == "set":
        _, former = tasks.task_at(store, "GU-1", "pump_check")
        tasks.set_task_at(store, actor, "GU-1", former, {"interval": rest[0]})
    elif kind in ("pause", "end"):
        play_pause(store, step, actor)
    elif kind == "close":
        change_site(store, actor, store.sites.get("quay"), {"closed_weekdays": [rest[0]]})
    elif known:
        play_change(store, step, known[rest[0] % len(known)], actor)


def play_change(store: Store, step: tuple[Any, ...], visit_id: str, actor: Any) -> None:
    """Correct a visit, void it, or take its void back."""
    kind, *rest = step
    former = store.visits.get(visit_id)
    if former.void is not None and kind == "unvoid":
        visits.unvoid_visit(store, actor, former, "y")
    elif former.void is None and kind == "void":
        visits.void_visit(store, actor, former, "x")
    elif former.void is None and kind == "correct":
        changed = {"outcome": rest[1], "readings": [READ], "why": "x"}
        changes = reading.read(VisitCorrectionSchema(partial=True), changed)
        visits.correct_visit(store, actor, former, changes, body="{}")


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(STEP, min_size=1, max_size=8))
def test_a_log_that_was_kept_is_what_the_tables_say_and_former_states_come_back(
    fleet: FleetDatabase, make: Maker, steps: list[tuple[Any, ...]]
) -> None:
    states: list[UnitLog] = []
    with suppress(TakenBack), fleet.writing() as store:
        known: list[str] = []
        for hours, step in enumerate(steps):
            play(store, make, step, known, then(make, hours))
            states.append(read(store, fresh=True))
            assert read(store) == states[-1]
        last = states[-1]
        for hours, state in enumerate(states):
            now_known = last.known_at(NOW + timedelta(hours=hours))
            assert now_known.all_visits == state.all_visits
            assert {k: v for k, v in now_known.settings.items() if v} == {k: v for k, v in state.settings.items() if v}
            assert now_known.setting_changes == state.setting_changes
            assert (now_known.pauses, now_known.closures) == (state.pauses, state.closures)
        raise TakenBack


def test_logs_that_were_kept_follow_the_calls_for_their_units_and_of_their_visits(
    fleet: FleetDatabase, make: Maker
) -> None:
    """Two visits answer one call: the first was voided, and counts again after the second was made."""
    called = {"received_at": datetime(2026, 6, 1, 8, tzinfo=UTC), "symptom": "warm_pour", "site": "quay"}
    with fleet.writing() as store:

        def following(*units: str) -> None:
            logs = [read(store, f"GU-{n}") for n in (1, 2, 3)]
            assert logs == [read(store, f"GU-{n}", fresh=True) for n in (1, 2, 3)]
            assert {log.unit.tag for log in logs if log.calls} == {*units}

        following()
        call = calls.record_call(store, make.actor, {"id": ONE, "unit": "GU-1", **called}, fingerprint="1")
        following("GU-1")
        calls.change_call(store, make.actor, call, {"unit": "GU-2"})
        following("GU-2")
        calls.record_call(store, make.actor, {"id": TWO, **called}, fingerprint="2")
        first = make.visit(store, "GU-3", "2026-06-01T18:00:00Z", calls=[TWO])
        following("GU-2", "GU-3")
        visits.void_visit(store, make.actor, store.visits.get(first), "x")
        following("GU-2", "GU-3")
        make.visit(store, "GU-1", "2026-06-02T18:00:00Z", calls=[TWO])
        following("GU-1", "GU-2", "GU-3")
        visits.unvoid_visit(store, make.actor, store.visits.get(first), "y")
        following("GU-1", "GU-2", "GU-3")
        assert [call.visit for call in read(store, "GU-1").calls] == [first]
        calls.change_call(store, make.actor, store.calls.get(TWO), {"words": "no cold beer"})
        following("GU-1", "GU-2", "GU-3")


def test_every_part_of_a_visit_is_in_the_log(fleet: FleetDatabase, make: Maker) -> None:
    with fleet.writing() as store:
        visit_id = make.visit(store, "GU-1", "2026-06-01T18:00:00Z", **FULL)
        stored = store.visits.get(visit_id)
        log = read(store, fresh=True)

    assert log.all_visits == (stored,)
    assert [(each.on, each.kind, each.by) for each in log.replaced()] == [
        (date(2026, 5, 20), "power_switch", "others"),
        (date(2026, 6, 1), "power_switch", "us"),
    ]
    assert [(taken.reading.value.entered, f"{taken.at:%H:%M}") for taken in log.readings()] == [
        ("28 degF", "18:00"),
        ("31.5 degF", "18:30"),
    ]
    assert [(each.task, each.on, each.as_found) for each in log.performed()] == [
        ("condenser_clean", date(2026, 6, 1), "heavy")
    ]


def test_as_of_cuts_by_the_time_at_which_it_happened(fleet: FleetDatabase, make: Maker) -> None:
    with fleet.writing() as store:
        make.visit(store, "GU-1", "2026-06-01T18:00:00Z", **FULL)
        log = read(store)
    before, after = (log.as_of(datetime.fromisoformat(f"2026-06-{day}T00:00:00+00:00")) for day in ("01", "02"))

    assert before.visits == ()
    assert [each.on for each in before.replaced()] == [date(2026, 5, 20)]  # though it was recorded later
    assert len(after.visits) == 1
    assert after.as_of(before.until or NOW) == before


def test_a_pause_counts_from_its_first_day_and_from_when_it_was_recorded(fleet: FleetDatabase, make: Maker) -> None:
    with fleet.writing() as store:
        pauses.add_pause(store, make.actor, "unit", "GU-1", {"from": date(2026, 5, 1), "until": None, "reason": "x"})
        pauses.add_pause(store, make.actor, "site", "quay", {"from": date(2026, 8, 1), "until": None, "reason": "x"})
        log = read(store)

    days = [datetime.fromisoformat(f"2026-{day}T18:00:00+00:00") for day in ("04-30", "05-01", "08-01")]
    assert [len(log.as_of(instant).care.away) for instant in days] == [0, 1, 2]
    assert [len(log.known_at(NOW + timedelta(hours=n)).care.away) for n in (-1, 0)] == [0, 2]


def test_what_a_transaction_made_counts_for_others_only_once_it_is_committed(fleet: FleetDatabase, make: Maker) -> None:
    """The version of a transaction that was taken back is given out again, for another history."""
    with suppress(TakenBack), fleet.writing() as store:
        make.visit(store, "GU-1", "2026-06-01T18:00:00Z", **FULL)
        lost = read(store)
        raise TakenBack
    with fleet.writing() as store:
        make.visit(store, "GU-1", "2026-06-02T18:00:00Z")
    with fleet.reading() as store:
        found = read(store)

    assert found.version == lost.version
    assert [f"{visit.arrived_at:%d}" for visit in found.visits] == ["02"]


def test_a_kept_log_is_used_until_another_process_changes_the_unit(
    fleet: FleetDatabase, new_database: Any, make: Maker
) -> None:
    other = new_database()
    with other.reading() as store:
        first = read(store)
    with other.reading() as store:
        assert read(store) is first
    with fleet.writing() as store:
        make.visit(store, "GU-1", "2026-06-01T18:00:00Z")
    with other.reading() as store:
        assert len(read(store).visits) == 1


def test_one_unit_and_many_are_loaded_alike(fleet: FleetDatabase, make: Maker) -> None:
    with fleet.writing() as store:
        for n in (1, 2, 3):
            make.visit(store, f"GU-{n}", "2026-06-01T18:00:00Z", **FULL)
    with fleet.reading() as store:
        ids = [store.units.place(f"GU-{n}").id for n in (1, 2, 3)]
        many = dict(Store(store.link).unit_logs.of(ids))
        each = {key: next(iter(Store(store.link).unit_logs.of([key])))[1] for key in ids}
        alone = {key: Store(store.link).unit_logs.get(key, log.version) for key, log in many.items()}
        of_customer = dict(Store(store.link).unit_logs.of_customer("lantern"))
        in_chunks = dict(log for chunk in Store(store.link).unit_logs.in_chunks(2) for log in chunk)

    assert many == each == alone == of_customer == in_chunks
    assert list(many) == ids


def test_going_through_the_fleet_keeps_no_log_in_memory(fleet: FleetDatabase, new_database: Any) -> None:
    other = new_database()
    with other.reading() as store:
        (gone_through, *_), *_ = store.unit_logs.in_chunks(2)
    with other.reading() as store:
        kept = read(store)
    with other.reading() as store:
        again = read(store)

    assert gone_through[1] == kept
    assert gone_through[1] is not kept
    assert again is kept


def test_the_bulk_question_gives_the_due_items_that_follow_from_the_log(fleet: FleetDatabase, make: Maker) -> None:
    with fleet.writing() as store:
        for n in (1, 2):
            make.visit(store, f"GU-{n}", "2026-06-01T18:00:00Z", **FULL | {"outcome": "down"})
        _, former = tasks.task_at(store, "GU-2", "pump_check")
        tasks.set_task_at(store, make.actor, "GU-2", former, {"interval": "2 months"})
        visits.void_visit(store, make.actor, store.visits.get(make.visit(store, "GU-3", "2026-06-03T18:00:00Z")), "x")
        places = [store.units.place(f"GU-{n}") for n in (1, 2, 3)]
        known = due.fleet_tasks(store)
        bulk = due.refresh_places(store, places, known)

        assert [tuple(items) for items in bulk] == [due_of(read(store, place.tag), known) for place in places]


def test_the_bulk_question_loads_no_log_where_an_interval_is_learned(
    fleet: FleetDatabase, make: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    cleaned = [{"task": "condenser_clean", "result": "done", "as_found": "heavy"}]
    with fleet.writing() as store:
        for day in ("03-01", "04-20", "06-01"):
            make.visit(store, "GU-1", f"2026-{day}T18:00:00Z", tasks=cleaned)
        places = [store.units.place(f"GU-{n}") for n in (1, 2)]
        known = dict(due.fleet_tasks(store))
        known["condenser_clean"] = replace(known["condenser_clean"], rule="learned")
        with monkeypatch.context() as patched:
            patched.setattr(UnitLogs, "_load", lambda *_: pytest.fail("a log was loaded"))
            bulk = due.refresh_places(store, places, known)

        assert [tuple(items) for items in bulk] == [due_of(read(store, place.tag), known) for place in places]
        assert "learned from 2 grades of this unit" in "".join(item.why for item in bulk[0])


def test_a_log_holds_equal_codes_of_its_visits_once(fleet: FleetDatabase, make: Maker) -> None:
    with fleet.writing() as store:
        for day in (1, 2):
            make.visit(store, "GU-1", f"2026-06-0{day}T18:00:00Z", **FULL | {"left_at": None, "complaint": None})
    with fleet.reading() as store:
        one, other = read(store, fresh=True).all_visits
    pairs = [(one, other), *zip(one.readings, other.readings, strict=True)]
    pairs += [*zip(one.replacements, other.replacements, strict=True), (one.readings[0].value, other.readings[0].value)]

    for first, second in pairs:
        for name in type(first).__slots__:
            text = getattr(first, name)
            if isinstance(text, str) and name not in ("id", "note"):
                assert getattr(second, name) is text, name
