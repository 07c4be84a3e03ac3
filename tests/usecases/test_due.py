"""Due items stay true: after every visit, day by day, whoever refreshes them and however often."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from datetime import UTC, datetime, timedelta
from threading import Thread
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from service.schemas.visits import VisitCorrectionSchema
from service.storage.due import DueItems
from service.usecases import due, tasks, visits
from service.usecases.fleet import change_site


def told(store, tag="GU-1"):
    """A unit's due items as they are stored."""
    return store.due.at(store.units.place(tag).id)


def kept(book, tag="GU-1"):
    with book.reading() as store:
        return told(store, tag)


def refresh_all(store):
    after = 0
    while after is not None:
        after, _ = due.refresh_next(store, after, 2)


@pytest.fixture
def fleet(book, make):
    """Five units at three sites in two time zones, one of them with a visit that left it down."""
    with book.writing() as store:
        for code, zone in (("quay", "America/Denver"), ("pier", "America/Denver"), ("bay", "Pacific/Auckland")):
            make.site(store, code, zone)
        for n, site in enumerate(("quay", "quay", "pier", "bay", "bay"), 1):
            make.unit(store, f"GU-{n}", site)
        make.visit(store, "GU-1", "2026-06-08T18:00:00Z", outcome="down")
    return book


def spoil(book):
    """Lose all due items, as a fault of ours might."""
    with book.writing() as store:
        store.link.core(text("DELETE FROM due_item"))


def test_a_second_refresh_changes_nothing(fleet, monkeypatch) -> None:
    with fleet.writing() as store:
        refresh_all(store)
    written: list[Any] = []
    monkeypatch.setattr(DueItems, "write", lambda _, changes, gone: written.append((list(changes), list(gone))))
    with fleet.writing() as store:
        refresh_all(store)

    assert written
    assert all(one == ([], []) for one in written)


def test_a_full_refresh_makes_good_what_was_lost(fleet) -> None:
    before = kept(fleet)
    spoil(fleet)
    with fleet.writing() as store:
        refresh_all(store)

    assert kept(fleet) == before
    assert before


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
def traceless(book):
    """A transaction that is taken back."""
    with suppress(TakenBack), book.writing() as store:
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
            changes = VisitCorrectionSchema().load(rest[1] | {"kind": "maintenance", "why": "x"})
            visits.correct_visit(store, make.actor, former, changes, body="{}")


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(STEP, max_size=8))
def test_step_by_step_gives_what_a_full_refresh_gives(fleet, make, steps) -> None:
    with traceless(fleet) as store:
        known: list[str] = []
        for step in steps:
            play(store, make, step, known)
        step_by_step = told(store)
        store.link.core(text("DELETE FROM due_item"))
        refresh_all(store)

        assert step_by_step == told(store)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(told_visits=st.lists(VISIT, min_size=2, max_size=5, unique_by=lambda visit: visit["arrived_at"]), data=st.data())
def test_visits_in_any_order_give_the_same_due_items(fleet, make, told_visits, data) -> None:
    shuffled = data.draw(st.permutations(told_visits))
    with traceless(fleet) as store:
        for one, other in zip(told_visits, shuffled, strict=True):
            make.visit(store, "GU-2", **one)
            make.visit(store, "GU-3", **other)  # at another site of the same zone

        assert told(store, "GU-2") == told(store, "GU-3")


# The day's work


def turns(book, now, most=20):
    """Turn until nothing is left, as the scheduler does; how many sites were done."""
    sites, after = 0, 0
    while after is not None:
        with book.writing() as store:
            after, did = due.refresh_site_days(store, now, most, after)
        sites += did
    return sites


def ledger(book):
    with book.reading() as store:
        return sorted(tuple(row) for row in store.link.core(text("SELECT site_id, day FROM day_done")))


@pytest.mark.parametrize("most", [1, 2, 20])
def test_each_site_is_done_once_a_day(fleet, make, most) -> None:
    assert turns(fleet, make.now, most) == 3
    assert turns(fleet, make.now, most) == 0
    assert turns(fleet, make.now + timedelta(days=1), most) == 3
    assert sorted(day for _, day in ledger(fleet)) == ["2026-06-09"] * 2 + ["2026-06-10"] * 3 + ["2026-06-11"]


def test_the_days_work_mends_due_items_once_and_not_again_that_day(fleet, make) -> None:
    before = kept(fleet)
    spoil(fleet)
    turns(fleet, make.now)
    assert kept(fleet) == before
    spoil(fleet)
    turns(fleet, make.now)

    assert kept(fleet) == []


def test_a_day_begins_at_the_sites_own_midnight(fleet) -> None:
    """Auckland is at +12:00 in June, Denver at -06:00 (IANA data for 2026)."""
    turns(fleet, datetime(2026, 6, 9, 11, 59, tzinfo=UTC))

    assert turns(fleet, datetime(2026, 6, 9, 12, 0, tzinfo=UTC)) == 1
    assert turns(fleet, datetime(2026, 6, 10, 5, 59, tzinfo=UTC)) == 0
    assert turns(fleet, datetime(2026, 6, 10, 6, 0, tzinfo=UTC)) == 2


@pytest.mark.parametrize(("day", "hours"), [((2026, 3, 8), 23), ((2026, 11, 1), 25), ((2026, 6, 9), 24)])
def test_every_day_is_done_once_also_when_the_clocks_change(fleet, day, hours) -> None:
    """Denver goes to summer time on 8 March and back on 1 November 2026 (IANA data): days of 23 and 25 hours."""
    begins = datetime(*day, tzinfo=UTC) + timedelta(hours=7 if day[1:] == (3, 8) else 6)
    turns(fleet, begins - timedelta(minutes=1))
    quarters = [begins + n * timedelta(minutes=15) for n in range(4 * hours)]
    done = [turns_of_denver(fleet, instant) for instant in quarters]

    assert sum(done) == 2
    assert turns_of_denver(fleet, begins + timedelta(hours=hours)) == 2


def turns_of_denver(book, now):
    before = {row for row in ledger(book) if row[0] != auckland(book)}
    turns(book, now)
    return len({row for row in ledger(book) if row[0] != auckland(book)} - before)


def auckland(book):
    with book.reading() as store:
        return store.sites.ids_of("bay")[0]


def test_a_missed_run_catches_up_at_the_next_tick(fleet, make) -> None:
    turns(fleet, make.now)
    before = kept(fleet)
    spoil(fleet)

    assert turns(fleet, make.now + timedelta(days=5)) == 3
    assert kept(fleet) == before


def test_a_run_that_breaks_off_leaves_its_sites_undone(fleet, make, monkeypatch) -> None:
    with monkeypatch.context() as broken:
        broken.setattr(due, "refresh_places", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError), fleet.writing() as store:
            due.refresh_site_days(store, make.now, 20)

    assert ledger(fleet) == []
    assert turns(fleet, make.now) == 3


def test_several_processes_do_each_sites_day_once(fleet, new_book, make) -> None:
    with fleet.writing() as store:
        for n in range(12):
            make.site(store, f"site-{n}")
    processes = [fleet, new_book(), new_book(), new_book()]
    with ThreadPoolExecutor(8) as threads:
        done = list(threads.map(lambda n: turns(processes[n % 4], make.now, 3), range(8)))
    turns(fleet, make.now)  # who found others at work leaves the rest to the next tick

    assert len(ledger(fleet)) == len(set(ledger(fleet))) == 15
    assert sum(done) <= 15


def test_an_edited_catalogue_opens_the_days_ledger_again(fleet, make) -> None:
    turns(fleet, make.now)
    with fleet.writing() as store:
        _, former = tasks.one_task(store, "pump_check")
        tasks.set_task(store, make.actor, former, {"applies": False})

    assert "pump_check" in {item.task for item in kept(fleet)}
    assert turns(fleet, make.now) == 3
    assert "pump_check" not in {item.task for item in kept(fleet)}


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
    with fleet.writing() as store:
        refresh_all(store)
    poster.join()

    assert {item.task: str(item.last_done_on) for item in kept(fleet)}["pump_check"] == "2026-06-09"


@pytest.mark.parametrize("by_all", [True, False])
def test_what_waited_for_a_change_of_the_site_goes_by_the_changed_site(fleet, make, monkeypatch, by_all) -> None:
    """All items fall on Tuesday 9 June, the day of registration; then the site is closed on Tuesdays."""

    def refresh():
        with fleet.writing() as store:
            if by_all:
                refresh_all(store)
            else:
                make.visit(store, "GU-1", "2026-06-09T18:00:00Z", tasks=[{"task": "trunk_check", "result": "done"}])

    waiting = interrupted(monkeypatch, refresh)
    with fleet.writing() as store:
        change_site(store, make.actor, store.sites.get("quay"), {"closed_weekdays": ["tuesday", "wednesday"]})
    waiting.join()
    days = {item.task: str(item.due_on) for item in kept(fleet)}

    assert days["pump_check"] == "2026-06-11"
    assert days["trunk_check"] == ("2026-06-11" if by_all else "2026-09-07")  # 9 September is a Wednesday
