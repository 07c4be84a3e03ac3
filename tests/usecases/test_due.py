"""Due items stay true: after every visit, day by day, whoever refreshes them and however often."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from datetime import datetime
from threading import Thread
from types import SimpleNamespace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from service.schemas.reading import read
from service.schemas.visits import VisitCorrectionSchema
from service.storage.due import DueItems
from service.storage.unit_log import UnitLogs
from service.usecases.maintenance import due, learning, refreshing, tasks
from service.usecases.maintenance.refreshing import refresh_range
from service.usecases.record import visits
from service.usecases.record.fleet import change_site


def due_of(store, tag="GU-1"):
    """A unit's due items as they are stored."""
    return store.due.at(store.units.place(tag).id)


def kept(database, tag="GU-1"):
    with database.reading() as store:
        return due_of(store, tag)


def refresh_all(database):
    """Refresh as the command does; how many units there were."""
    return sum(refresh_range(database, low, low + 2) for low in range(1, 8, 3))


@pytest.fixture
def fleet(database, make):
    """Five units at three sites in two time zones, one of them with a visit that left it down."""
    with database.writing() as store:
        for code, zone in (("quay", "America/Denver"), ("pier", "America/Denver"), ("bay", "Pacific/Auckland")):
            make.site(store, code, zone)
        for n, site in enumerate(("quay", "quay", "pier", "bay", "bay"), 1):
            make.unit(store, f"GU-{n}", site)
        make.visit(store, "GU-1", "2026-06-08T18:00:00Z", outcome="down")
    return database


def test_units_that_lie_close_together_are_asked_for_at_once() -> None:
    places = [SimpleNamespace(id=n) for n in (1, 9, 17, 26)]
    assert list(due.runs(places)) == [places[:3], places[3:]]
    assert list(due.runs([])) == []


def spoil(database):
    """Lose all due items, as a fault of ours might."""
    with database.writing() as store:
        store.link.core(text("DELETE FROM due_item"))


def test_a_second_refresh_changes_nothing(fleet, monkeypatch) -> None:
    refresh_all(fleet)
    monkeypatch.setattr(type(fleet), "writing", lambda _: 1 / 0)

    assert refresh_all(fleet) == 5


def test_a_full_refresh_makes_good_what_was_lost(fleet) -> None:
    before = kept(fleet)
    spoil(fleet)
    refresh_all(fleet)

    assert kept(fleet) == before
    assert before


def test_what_a_full_refresh_found_right_is_not_worked_out_again(fleet) -> None:
    with fleet.writing() as store:
        store.link.core(text("UPDATE unit SET due_rules = 0"))
    refresh_all(fleet)

    assert refresh_stale(fleet) == 0


# Incremental equals full


TASKS = ["condenser_clean", "pump_check", "strainer_clean"]
RESULT = st.fixed_dictionaries(
    {
        "task": st.sampled_from(TASKS),
        "result": st.sampled_from(["done", "not_done", "not_needed"]),
        "reason": st.just("x"),
    },
    optional={"as_found": st.sampled_from(["clean", "light", "heavy", "blocked"])},
)
VISIT = st.fixed_dictionaries(
    {
        "arrived_at": st.datetimes(datetime(2025, 1, 1), datetime(2026, 6, 9)).map(
            lambda at: f"{at:%Y-%m-%dT%H:%M:%SZ}"
        ),
        "tasks": st.lists(RESULT, max_size=2, unique_by=lambda result: result["task"]),
        "outcome": st.sampled_from([None, "running", "recovering", "down"]),
    }
)
STEP = st.one_of(
    st.tuples(st.just("visit"), VISIT),
    st.tuples(st.just("correct"), st.integers(0, 9), VISIT),
    st.tuples(st.just("void"), st.integers(0, 9)),
    st.tuples(st.just("set"), st.sampled_from(TASKS), st.sampled_from(["30 days", "2 months"]), st.booleans()),
)


class TakenBack(Exception):
    """Ends a transaction without a trace."""


@contextmanager
def traceless(database):
    """A transaction that is taken back."""
    with suppress(TakenBack), database.writing() as store:
        yield store
        raise TakenBack


def play(store, make, step, known):
    """One step of a story; those that nobody could make (nothing to correct yet) are passed over."""
    kind, *rest = step
    if kind == "visit":
        known.append(make.visit(store, "GU-1", **rest[0]))
    elif kind == "set":
        _, former = tasks.task_at(store, "GU-1", rest[0])
        tasks.set_task_at(store, make.actor, "GU-1", former, {"interval": rest[1], "applies": rest[2]})
    elif known:
        former = store.visits.get(known[rest[0] % len(known)])
        if former.void is None and kind == "void":
            visits.void_visit(store, make.actor, former, "x")
        elif former.void is None:
            changes = read(VisitCorrectionSchema(), rest[1] | {"kind": "maintenance", "why": "x"})
            visits.correct_visit(store, make.actor, former, changes, body="{}")


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(STEP, max_size=8))
def test_step_by_step_gives_what_a_full_refresh_gives(fleet, make, steps) -> None:
    with traceless(fleet) as store:
        known: list[str] = []
        for step in steps:
            play(store, make, step, known)
        step_by_step = due_of(store)
        store.link.core(text("DELETE FROM due_item"))
        due.refresh_places(store, store.units.places_in(1, 1000), due.fleet_tasks(store))

        assert step_by_step == due_of(store)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(visits=st.lists(VISIT, min_size=2, max_size=5, unique_by=lambda visit: visit["arrived_at"]), data=st.data())
def test_visits_in_any_order_give_the_same_due_items(fleet, make, visits, data) -> None:
    shuffled = data.draw(st.permutations(visits))
    with traceless(fleet) as store:
        for one, other in zip(visits, shuffled, strict=True):
            make.visit(store, "GU-2", **one)
            make.visit(store, "GU-3", **other)  # at another site of the same zone

        assert due_of(store, "GU-2") == due_of(store, "GU-3")


# Only what changed


def refresh_stale(database, most=20):
    """Refresh as the scheduler does; how many units there were."""
    return due.refresh_all_stale(database, most)


def forget_due(database, *tags):
    """Lose the due items of some units and the mark that they were worked out."""
    with database.writing() as store:
        for tag in tags:
            unit = f"(SELECT id FROM unit WHERE tag = '{tag}')"
            store.link.core(text(f"DELETE FROM due_item WHERE unit_id = {unit}"))
            store.link.core(text(f"UPDATE unit SET due_version = 0 WHERE tag = '{tag}'"))


@pytest.mark.parametrize("most", [1, 2, 20])
def test_units_out_of_date_are_refreshed_once(fleet, most) -> None:
    before = {tag: kept(fleet, tag) for tag in ("GU-1", "GU-2", "GU-5")}
    forget_due(fleet, *before)

    assert refresh_stale(fleet, most) == 3
    assert {tag: kept(fleet, tag) for tag in before} == before
    assert refresh_stale(fleet, most) == 0


def test_a_day_on_which_nothing_changed_writes_nothing(fleet, monkeypatch) -> None:
    monkeypatch.setattr(type(fleet), "writing", lambda _: 1 / 0)

    assert refresh_stale(fleet) == 0


def test_every_change_of_the_history_leaves_the_due_items_up_to_date(fleet, make) -> None:
    with fleet.writing() as store:
        visit = make.visit(store, "GU-2", "2026-06-08T18:00:00Z", tasks=[{"task": "pump_check", "result": "done"}])
        _, former = tasks.task_at(store, "GU-3", "pump_check")
        tasks.set_task_at(store, make.actor, "GU-3", former, {"interval": "2 months"})
        visits.void_visit(store, make.actor, store.visits.get(visit), "x")
        change_site(store, make.actor, store.sites.get("bay"), {"closed_weekdays": ["monday"]})

    assert refresh_stale(fleet) == 0


def test_an_edited_catalogue_puts_every_unit_out_of_date(fleet, make) -> None:
    with fleet.writing() as store:
        _, former = tasks.one_task(store, "pump_check")
        tasks.set_task(store, make.actor, former, {"applies": False})

    assert "pump_check" in {item.task for item in kept(fleet)}
    assert refresh_stale(fleet) == 5
    assert "pump_check" not in {item.task for item in kept(fleet)}


def test_what_a_transaction_has_set_or_learned_it_goes_by(fleet, make) -> None:
    figures = '{"drifts":{},"fouling":{"condenser_clean/":{"median":90.0}}}'
    with fleet.writing() as store:
        asked = due.rules(store), store.learned.latest(), store.baselines.latest()
        _, former = tasks.one_task(store, "condenser_clean")
        tasks.set_task(store, make.actor, former, {"rule": "learned"})
        by_rule = due.rules(store)
        learning.keep(store, figures, "2026-06-09T21:00:00.000000Z")
        store.baselines.keep("{}", "2026-06-09T21:00:00.000000Z")

        assert due.fleet_tasks(store)["condenser_clean"].rule == "learned"
        assert len({asked[0], by_rule, due.rules(store)}) == 3
        assert (asked[1:], store.learned.latest(), store.baselines.latest()) == ((None, None), figures, "{}")


def test_a_new_program_works_out_every_unit_anew(fleet, monkeypatch) -> None:
    monkeypatch.setattr(due, "__version__", "another")
    due._rules.cache_clear()

    assert refresh_stale(fleet) == 5
    due._rules.cache_clear()


def test_forecasts_are_made_anew_where_the_history_changed_alone_few_histories_at_a_time(
    fleet, make, monkeypatch
) -> None:
    """The short form of `python -m tests.benchmarks forecasts`, which does it for 100 000 units and measures memory."""
    forecast: list[str] = []
    read: list[int] = []
    of_units, of_log = UnitLogs.of, due.items_of
    monkeypatch.setattr(UnitLogs, "of", lambda logs, ids: read.append(len(ids)) or of_units(logs, ids))
    monkeypatch.setattr(
        due, "items_of", lambda store, log, *rest: forecast.append(log.unit.tag) or of_log(store, log, *rest)
    )
    level = [{"quantity": "bath_level", "value": "80 %", "when": "as_found"}]
    with fleet.writing() as store:
        make.visit(store, "GU-3", "2026-05-08T18:00:00Z", readings=level)
        _, former = tasks.one_task(store, "bath_level_check")
        tasks.set_task(store, make.actor, former, {"rule": "condition"})
    assert refresh_stale(fleet, 2) == 5
    assert max(read) <= 2

    forecast.clear()
    with fleet.writing() as store:
        store.link.core(text("UPDATE unit SET log_version = log_version + 1 WHERE tag = 'GU-3'"))
    assert refresh_stale(fleet, 2) == 1
    assert forecast == ["GU-3"]


def test_a_refresh_that_breaks_off_leaves_its_units_out_of_date(fleet, monkeypatch) -> None:
    forget_due(fleet, "GU-1", "GU-2")
    with monkeypatch.context() as broken:
        broken.setattr(due, "refresh_places", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            refresh_stale(fleet)

    assert refresh_stale(fleet) == 2


def test_several_processes_leave_nothing_out_of_date(fleet, new_database, make) -> None:
    with fleet.writing() as store:
        for n in range(12):
            make.unit(store, f"GU-1{n:02}", "quay")
    before = {f"GU-1{n:02}": kept(fleet, f"GU-1{n:02}") for n in range(12)}
    forget_due(fleet, *before)
    processes = [new_database(patience=60.0) for _ in range(4)]  # they wait for each other, on a busy machine for long
    with ThreadPoolExecutor(8) as threads:
        list(threads.map(lambda n: refresh_stale(processes[n % 4], 3), range(8)))

    assert refresh_stale(fleet) == 0
    assert {tag: kept(fleet, tag) for tag in before} == before


def interrupted(monkeypatch, meanwhile):
    """A thread that begins `meanwhile` when due items are about to be written for the first time."""
    thread, write = Thread(target=meanwhile), DueItems.write

    def write_late(self, *what):
        if thread.ident is None:
            thread.start()
            thread.join(0.3)  # long enough for what nothing holds up
        write(self, *what)

    monkeypatch.setattr(DueItems, "write", write_late)
    return thread


def test_a_visit_posted_in_the_middle_of_a_refresh_is_not_lost(fleet, make, monkeypatch) -> None:
    """The refresh has read the visits and is about to write when a visit comes in: that has to wait its turn."""
    with fleet.writing() as store:
        _, former = tasks.one_task(store, "pump_check")
        tasks.set_task(store, make.actor, former, {"interval": "2 months"})
    done = [{"task": "pump_check", "result": "done"}]

    def post():
        with fleet.writing() as store:
            make.visit(store, "GU-1", "2026-06-09T18:00:00Z", tasks=done)

    poster = interrupted(monkeypatch, post)
    refresh_all(fleet)
    poster.join()

    assert {item.task: str(item.last_done_on) for item in kept(fleet)}["pump_check"] == "2026-06-09"


def overtaken(monkeypatch, meanwhile):
    """What happens `meanwhile` happens once, when a full refresh has worked out units and not yet written."""
    worked_out = refreshing.worked_out

    def late(*of):
        made = worked_out(*of)
        monkeypatch.undo()
        meanwhile()
        return made

    monkeypatch.setattr(refreshing, "worked_out", late)


@pytest.mark.parametrize("change", ["visit", "rules"])
def test_what_changes_between_reading_and_writing_counts(fleet, make, monkeypatch, change) -> None:
    """The full refresh works out while others write, so what it writes may be of a history that is over."""
    with fleet.writing() as store:
        _, former = tasks.one_task(store, "pump_check")
        tasks.set_task(store, make.actor, former, {"interval": "2 months"})

    def meanwhile():
        with fleet.writing() as store:
            if change == "visit":
                done = [{"task": "pump_check", "result": "done"}]
                make.visit(store, "GU-1", "2026-06-09T18:00:00Z", tasks=done)
            else:
                _, former = tasks.one_task(store, "pump_check")
                tasks.set_task(store, make.actor, former, {"applies": False})

    overtaken(monkeypatch, meanwhile)
    spoil(fleet)
    assert refresh_all(fleet) == 5
    stored = kept(fleet)
    last_done = {item.task: str(item.last_done_on) for item in stored}

    assert last_done.get("pump_check") == ("2026-06-09" if change == "visit" else None)
    spoil(fleet)
    refresh_all(fleet)
    assert stored == kept(fleet)
    assert refresh_stale(fleet) == 0


def test_what_is_learned_between_reading_and_writing_counts(fleet, make, monkeypatch) -> None:
    """At one unit alone, whose own rule goes by it, and whose due items are out of date already."""
    with fleet.writing() as store:
        make.unit(store, "GU-6", "quay", installed_on="2025-12-02")
        done = [{"task": "condenser_clean", "result": "done", "as_found": "heavy"}]
        make.visit(store, "GU-6", "2026-03-02T20:00:00Z", tasks=done)
        for task, former in tasks.catalogue(store):
            if task.rule == "learned":
                tasks.set_task(store, make.actor, former, {"rule": "calendar"})
        _, own = tasks.task_at(store, "GU-6", "condenser_clean")
        tasks.set_task_at(store, make.actor, "GU-6", own, {"rule": "learned"})
        store.link.core(text("UPDATE unit SET due_rules = 0"))

    def meanwhile():
        with fleet.writing() as store:
            figures = '{"drifts":{},"fouling":{"condenser_clean/":{"median":20.0}}}'
            learning.keep(store, figures, "2026-06-09T21:00:00.000000Z")

    before = kept(fleet, "GU-6")
    overtaken(monkeypatch, meanwhile)
    assert refresh_range(fleet, 1, 10) == 6
    stored = kept(fleet, "GU-6")
    spoil(fleet)
    refresh_all(fleet)

    assert stored == kept(fleet, "GU-6") != before


@pytest.mark.parametrize("by_all", [True, False])
def test_what_waited_for_a_change_of_the_site_goes_by_the_changed_site(fleet, make, monkeypatch, by_all) -> None:
    """All items fall on Tuesday 9 June, the day of registration; then the site is closed on Tuesdays."""

    def refresh():
        if by_all:
            refresh_all(fleet)
        else:
            with fleet.writing() as store:
                make.visit(store, "GU-1", "2026-06-09T18:00:00Z", tasks=[{"task": "trunk_check", "result": "done"}])

    waiting = interrupted(monkeypatch, refresh)
    with fleet.writing() as store:
        change_site(store, make.actor, store.sites.get("quay"), {"closed_weekdays": ["tuesday", "wednesday"]})
    waiting.join()
    days = {item.task: str(item.due_on) for item in kept(fleet)}

    assert days["pump_check"] == "2026-06-11"
    assert days["trunk_check"] == ("2026-06-11" if by_all else "2026-09-07")  # 9 September is a Wednesday
