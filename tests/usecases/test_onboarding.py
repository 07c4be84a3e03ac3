"""The first quarter of a fleet that was taken over, worked day by day as the list has it."""

from collections import Counter
from datetime import UTC, date, datetime, time, timedelta
from random import Random

import pytest

from service.domain.audit import Actor, AuditFilter
from service.domain.errors import Invalid
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.onboarding import URGENCY, Span, Work, lay
from service.domain.maintenance.tasks import Interval
from service.usecases.maintenance.due import due_at
from service.usecases.planning import onboarding
from service.usecases.transfer import exporting

CARE = date(2026, 6, 8)
FROM = date(2026, 6, 15)  # a Monday
HOURS = 16  # two technicians
WEEKDAYS = ["monday", "tuesday", "wednesday", "thursday", "friday"]
ASKED = {"from": FROM, "weeks": 13, "hours_per_day": HOURS, "weekdays": WEEKDAYS}
MINUTES = {task.code: task.minutes for task in CATALOGUE}
TASKS = [task.code for task in CATALOGUE if task.interval]
LIMIT = {"condenser_clean": 183, "condenser_deep_clean": 365}  # days, 6 and 12 months of the catalogue
CLOSED = [[], ["monday"], ["sunday"], ["sunday", "monday"], ["tuesday", "wednesday"]]


def reported(rng, task):
    """What the former company, or nobody, says about a task."""
    day = CARE - timedelta(rng.randrange(20, 900))
    return {"task": task, "on": rng.choice([None, f"{day:%Y}", f"{day:%Y-%m}", day.isoformat()])}


def take_over(store, make, seed, units=60):
    """60 units at 25 sites, installed years ago, with three years of notes for some and nothing for others."""
    rng = Random(seed)
    for n in range(25):
        surroundings = rng.choice(["clean", "greasy", "dusty", "outdoor", None])
        site = {"surroundings": surroundings, "closed_weekdays": tuple(rng.choice(CLOSED)), "care_from": CARE}
        make.site(store, f"site-{n:02}", rng.choice(["America/Denver", "Europe/Berlin"]), **site)
    for n in range(units):
        installed = CARE - timedelta(rng.randrange(400, 4700))
        last_done = [reported(rng, task) for task in TASKS if rng.random() < 0.4]
        tag = f"GU-{n:04}"
        known = {"installed_on": installed} if rng.random() < 0.8 else {}
        make.unit(store, tag, f"site-{rng.randrange(25):02}", last_done=last_done, **known)
        for _ in range(rng.randrange(0, 6) if rng.random() < 0.5 else 0):
            day = max(CARE - timedelta(rng.randrange(1, 1000)), known.get("installed_on", date.min))
            done = [{"task": task, "result": "done"} for task in rng.sample(TASKS, 2)]
            others = {"by": "others", "evidence": "reported"} if rng.random() < 0.7 else {}
            make.visit(store, tag, f"{day}T18:00:00Z", tasks=done, **others)


def due_on_or_before(store, day):
    ids = sorted({unit_id for _, unit_id, *_ in store.due.until(day.isoformat())})
    return store.due.rows_at(ids, day.isoformat())


def work(store, make, day, rng):
    """Do what the list has on a day; the minutes of it, and the (unit, task) done."""
    make.actor = Actor("tester", "owner", None, datetime.combine(day, time(23), UTC))
    rows = due_on_or_before(store, day)
    by_unit = {}
    for row in rows:
        by_unit.setdefault(row.unit, []).append(row.task)
    for tag, tasks in by_unit.items():
        found = {"as_found": rng.choice(["light", "light", "light", "heavy"])}
        done = [{"task": task, "result": "done"} | (found if task.startswith("condenser") else {}) for task in tasks]
        make.visit(store, tag, f"{day}T18:00:00Z", tasks=done)
    return sum(MINUTES[row.task] for row in rows), [(row.unit, row.task) for row in rows]


@pytest.fixture(params=[2, 5, 7])
def taken_over(request, database, make):
    with database.writing() as store:
        take_over(store, make, request.param)
    return database


def test_the_first_quarter_fits_the_technicians_and_every_condenser_is_seen_in_time(taken_over, make):
    rng, seen, loads = Random(11), {}, {}
    with taken_over.writing() as store:
        without = len(due_on_or_before(store, FROM))
        onboarding.accept(store, make.actor, onboarding.plan(store, ASKED, make.actor.at))
        for day in (FROM + timedelta(n) for n in range(91)):
            loads[day], done = work(store, make, day, rng)
            for each in done:
                seen.setdefault(each, day)
        unseen = [tag for tag in (f"GU-{n:04}" for n in range(60)) if (tag, "condenser_clean") not in seen]
        due = {(tag, item.task): item.due_on for tag in unseen for item in due_at(store, tag, make.now)[0]}

    assert without > 300  # hundreds of items on the first morning without a plan
    assert max(loads.values()) <= HOURS * 60
    assert all(due[tag, "condenser_clean"] > FROM + timedelta(90) for tag in unseen)
    assert len(unseen) < 5
    for (tag, task), day in seen.items():
        if task in LIMIT:
            assert (day - CARE).days <= LIMIT[task], tag


def test_a_plan_is_urgent_work_first_and_evenly_spread_on_open_days(taken_over, make):
    with taken_over.reading() as store:
        plan = onboarding.plan(store, ASKED, make.actor.at)
        closed = {site.code: site.closed for site in store.sites.page(after=None, limit=100)}
    load = Counter()
    for each in plan.laid:
        load[each.day] += each.work.minutes
        assert each.day.weekday() not in closed[each.work.site]
    behind = [each for each in plan.laid if each.work.due_on <= FROM]
    ordinal = {n: [e.day.toordinal() for e in behind if URGENCY[e.work.task] == n] for n in (0, 1, 2)}
    means = [sum(days) / len(days) for days in ordinal.values()]

    assert all(each.day.weekday() < 5 for each in behind)
    assert means == sorted(means)
    assert min(ordinal[0]) < FROM.toordinal() + 5
    assert max(load.values()) <= HOURS * 60
    # what is already past its outer limit comes as the first of its urgency, and nothing else goes beyond
    assert [each for each in plan.laid if each.beyond_limit and each.work.limit >= FROM] == []
    sites_of_days = {(each.day, URGENCY[each.work.task], each.work.site) for each in behind}
    split = Counter((urgency, site) for _, urgency, site in sites_of_days)
    assert sum(count == 1 for count in split.values()) > 0.8 * len(split)  # one site's work of one urgency on one day


def test_a_dry_run_stores_nothing_and_a_new_plan_replaces_the_dates_not_yet_kept(taken_over, make):
    with taken_over.writing() as store:
        before = list(exporting.records(store))
        onboarding.plan(store, ASKED, make.actor.at)
        assert list(exporting.records(store)) == before
        onboarding.accept(store, make.actor, onboarding.plan(store, ASKED, make.actor.at))
        first = {(tag, task): on for tag, task, on, _ in store.first_dates.everyones()}
        later = ASKED | {"from": date(2026, 6, 22)}
        onboarding.accept(store, make.actor, onboarding.plan(store, later, make.actor.at))
        second = {(tag, task): on for tag, task, on, _ in store.first_dates.everyones()}
        tag, task = next(iter(second))
        item = {item.task: item for item in due_at(store, tag, make.now)[0]}[task]

    assert "2026-06-15" <= min(first.values()) < "2026-06-22"
    assert min(second.values()) >= "2026-06-22"
    assert len(second) > 0.9 * len(first)
    assert (item.basis, item.due_on.isoformat()) == ("onboarding", second[tag, task])


def test_what_we_have_done_before_keeps_its_date_and_takes_its_time(taken_over, make):
    with taken_over.writing() as store:
        make.actor = Actor("tester", "owner", None, datetime.combine(FROM, time(), UTC))
        done = [{"task": "pump_check", "result": "done"}, {"task": "glycol_change", "result": "done"}]
        make.visit(store, "GU-0000", f"{CARE}T18:00:00Z", tasks=done)
        before = {item.task: item.due_on for item in due_at(store, "GU-0000", make.now)[0]}
        later = before["pump_check"] + timedelta(14)
        plan = onboarding.plan(store, ASKED | {"from": later}, make.actor.at)
        onboarding.accept(store, make.actor, plan)
        after = {item.task: item.due_on for item in due_at(store, "GU-0000", make.now)[0]}
    keeping = {(each.work.unit, each.work.task) for each in plan.laid if each.work.keeps_date}

    assert keeping == {("GU-0000", task) for task in ("pump_check", "glycol_strength_check", "bath_level_check")}
    assert after["pump_check"] == before["pump_check"] < later
    assert after["trunk_check"] >= later


def test_too_few_hours_are_refused_with_what_is_missing(taken_over, make):
    with taken_over.reading() as store, pytest.raises(Invalid) as refused:
        onboarding.plan(store, ASKED | {"hours_per_day": 1}, make.actor.at)

    assert "do not fit into 13 weeks" in refused.value.faults[0].message


def test_a_plan_holds_what_is_due_by_its_last_day_and_names_what_is_overdue_before_its_first(database, make):
    """Three months after 15, 21 and 22 March; a week from Monday, 15 June, ends on the 21st. No plan moves a visit."""
    asked = ASKED | {"weeks": 1, "weekdays": [*WEEKDAYS, "saturday", "sunday"]}
    pump = [{"task": "pump_check", "result": "done"}]
    with database.writing() as store:
        make.site(store, "quay", care_from=date(2026, 1, 1))
        make.unit(store, "GU-1", "quay")
        make.visit(store, "GU-1", "2026-03-15T18:00:00Z", tasks=pump)
        for tag, on in (("GU-2", "2026-03-21"), ("GU-3", "2026-03-22")):
            make.unit(store, tag, "quay", last_done=[{"task": "pump_check", "on": on}])
        make.visit(store, "GU-3", "2026-06-08T18:00:00Z", outcome="down")
        assert "follow_up" in {item.task for item in due_at(store, "GU-3", make.now)[0]}
        plan = onboarding.plan(store, asked, make.actor.at)
        next_day = onboarding.plan(store, asked | {"from": date(2026, 6, 16)}, make.actor.at)

    assert {each.work.unit for each in plan.laid if each.work.task == "pump_check"} == {"GU-1", "GU-2"}
    assert "follow_up" not in {each.work.task for each in plan.laid}
    assert (plan.notes, plan.hours_per_day) == ([], HOURS)
    (note,) = next_day.notes
    assert note.startswith("1 task is overdue by our own record (0.3 h)")


def test_first_dates_of_a_file_are_added_changed_and_audited(database, make):
    lines = [("pump_check", 15), ("pump_check", 15), ("pump_check", 16), ("trunk_check", 17)]
    with database.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay", installed_on=date(2013, 5, 4))
        made = [{"unit": "GU-1", "task": task, "on": FROM.replace(day=day), "since": CARE} for task, day in lines]
        found = [onboarding.take(store, make.actor, line, f"<{line['on']}>") for line in made]
        due = {item.task: item for item in due_at(store, "GU-1", make.now)[0]}
        trail = store.audit.page(AuditFilter(resource="first_date"), before=None, limit=9)

    assert found == ["added", "unchanged", "changed", "added"]
    assert [(due[task].due_on.day, due[task].basis) for task in ("pump_check", "trunk_check")] == [
        (16, "onboarding"),
        (17, "onboarding"),
    ]
    assert [(each.action, each.key, each.after) for each in reversed(trail)] == [
        ("imported", "GU-1/pump_check", "<2026-06-15>"),
        ("imported", "GU-1/pump_check", "<2026-06-16>"),
        ("imported", "GU-1/trunk_check", "<2026-06-17>"),
    ]


def monthly(unit, due_on, interval):
    return Work(site=unit, unit=unit, task="condenser_clean", minutes=40, interval=Interval(interval, "day"),
                due_on=due_on, limit=date(2027, 1, 1), closed=frozenset())  # fmt: skip


def test_a_day_leaves_room_for_what_recurs_after_it():
    week = timedelta(7)
    span = Span(first=FROM, last=FROM + 2 * week - timedelta(1), weekdays=frozenset(range(7)), minutes=60)
    laid, left = lay([monthly("later", FROM + week, 365), monthly("weekly", FROM, 7)], span)

    assert left == ()
    # on its first day it would recur on the day on which the other is due
    assert {each.work.unit: each.day for each in laid} == {"later": FROM + week, "weekly": FROM + timedelta(1)}
