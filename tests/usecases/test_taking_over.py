"""A fleet that is taken over: since when we care for it and what was done before, wherever that is recorded."""

from datetime import date, timedelta
from uuid import uuid4

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.record.care import Planned
from service.usecases.maintenance import due
from service.usecases.maintenance.due import due_at
from service.usecases.record import fleet, pauses, units

TASKS = [task.code for task in CATALOGUE if task.interval]
INSTALLED = {"installed_on": date(2013, 5, 4)}


def due_on(store, make, task="pump_check", tag="GU-1"):
    return {item.task: item for item in due_at(store, tag, make.now)[0]}[task].due_on


def set_care(store, make, owner, day):
    """Say since when we care for a customer, a site or a unit."""
    if owner == "customer":
        fleet.change_customer(store, make.actor, store.customers.get("lantern"), {"care_from": day})
    elif owner == "site":
        fleet.change_site(store, make.actor, store.sites.get("quay"), {"care_from": day})
    else:
        units.change_unit(store, make.actor, store.units.get("GU-1"), {"care_from": day})


def test_care_of_the_unit_outranks_that_of_its_site_and_that_of_its_customer(database, make):
    with database.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay", **INSTALLED)
        found = [due_on(store, make)]
        for owner, day in (("customer", "2026-03-02"), ("site", "2026-04-06"), ("unit", "2026-05-04")):
            set_care(store, make, owner, date.fromisoformat(day))
            found.append(due_on(store, make))
        for owner in ("unit", "site", "customer"):
            set_care(store, make, owner, None)
            found.append(due_on(store, make))

    days = ["2026-06-09", "2026-03-02", "2026-04-06", "2026-05-04", "2026-04-06", "2026-03-02", "2026-06-09"]
    assert [day.isoformat() for day in found] == days


def test_a_unit_taken_over_with_installations_years_ago_is_not_overdue_since_then(database, make):
    with database.writing() as store:
        make.site(store, "quay", care_from=date(2026, 6, 1))
        make.unit(store, "GU-1", "quay", **INSTALLED, last_done=[{"task": "glycol_change", "on": "2025-10"}])
        items, today = due_at(store, "GU-1", make.now)

    assert max((today - item.due_on).days for item in items) == 8
    assert {item.task: item.due_on for item in items}["glycol_change"] == date(2027, 10, 1)


DAYS = st.none() | st.dates(date(2025, 1, 1), date(2026, 6, 9))
REPORTED = st.sampled_from([None, "2025", "2026-02", "2026-03-14", "2025-11-30"])
VISITS = st.tuples(
    st.dates(date(2025, 1, 1), date(2026, 6, 8)),
    st.sampled_from(TASKS),
    st.sampled_from(["clean", "heavy", None]),
    st.booleans(),
)


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_one_unit_and_the_whole_fleet_agree_on_what_is_due(database, make, data):
    tag = f"GU-{uuid4()}"[:12]
    with database.writing() as store:
        site = f"site-{tag.lower()}"
        make.site(store, site, care_from=data.draw(DAYS))
        fleet.change_customer(store, make.actor, store.customers.get("lantern"), {"care_from": data.draw(DAYS)})
        reported = data.draw(st.dictionaries(st.sampled_from(TASKS), REPORTED, max_size=4))
        last_done = [{"task": task, "on": on} for task, on in reported.items()]
        make.unit(store, tag, site, care_from=data.draw(DAYS), last_done=last_done, **INSTALLED)
        place = store.units.place(tag)
        planned = data.draw(st.dictionaries(st.sampled_from(TASKS), DAYS.filter(bool), max_size=3))
        store.first_dates.put(place, {task: Planned(day, date(2026, 3, 2)) for task, day in planned.items()})
        for day, task, found, others in data.draw(st.lists(VISITS, max_size=4)):
            by = {"by": "others", "evidence": "reported"} if others else {}
            make.visit(
                store, tag, f"{day}T18:00:00Z", tasks=[{"task": task, "result": "done", "as_found": found}], **by
            )
        for of, key in (("unit", tag), ("site", site)):
            for n, last in enumerate(data.draw(st.lists(st.booleans(), max_size=2))):
                first = date(2026 + n, data.draw(st.integers(1, 12)), 1)
                pause = {"from": first, "until": first + timedelta(days=40) if last or not n else None, "reason": "x"}
                pauses.add_pause(store, make.actor, of, key, pause)
        for owner, change, collection in (
            (site, fleet.change_site, store.sites),
            (tag, units.change_unit, store.units),
        ):
            end = {"ended_on" if owner == site else "retired_on": data.draw(st.none() | st.just(date(2027, 1, 1)))}
            change(store, make.actor, collection.get(owner), end)
        place, log = due.changed(store, store.units.place(tag))
        alone = due.refresh_unit(store, place, log)
        assert due.refresh_places(store, [place], due.fleet_tasks(store)) == [alone]
