"""Searching units for root causes: where a record changes, once a day, and never for nothing."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from service.domain.root_causes.baselines import Baselines, default_setting
from service.domain.root_causes.baselines_json import to_json
from service.usecases.record import fleet, units, visits
from service.usecases.root_causes import past_root_causes, root_causes

DAYS = ("2025-12-08", "2026-01-12", "2026-02-16", "2026-03-23", "2026-04-27", "2026-06-01")


@pytest.fixture
def failing(database, make):
    """Two units, of which the switch of GU-2 burnt six times."""
    with database.writing() as store:
        make.site(store, "quay")
        for tag in ("GU-1", "GU-2"):
            make.unit(store, tag, "quay", installed_on=make.now.date() - timedelta(days=1000))
        for day in DAYS:
            make.visit(store, "GU-2", f"{day}T18:00:00Z", replacements=[burnt()])
    return database


def burnt() -> dict[str, Any]:
    return {
        "component": "switch-1", "kind": "power_switch", "reason": "failed", "condition": "burnt", "evidence": "seen",
    }  # fmt: skip


@pytest.mark.parametrize(("condition", "kinds"), [("worn", {"power_switch"}), ("good", set())])
def test_what_may_have_failed_is_looked_for_at_the_end_of_a_past_year(database, make, condition, kinds):
    """Two replaced for a reason that nobody knows, recorded after the year: as the search itself counts them."""
    unknown = burnt() | {"reason": "unknown", "condition": condition}
    with database.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay", installed_on=make.now.date() - timedelta(days=1000))
        for day in DAYS[1:3]:
            make.visit(store, "GU-1", f"{day}T18:00:00Z", replacements=[unknown])
        place = store.units.place("GU-1")
        log = store.unit_logs.get(place.id, place.log_version)
    end = min(visit.posted_at for visit in log.visits) - timedelta(seconds=1)

    assert past_root_causes._recorded_after(log, end) == kinds


def kept(database, tag="GU-2"):
    with database.reading() as store:
        return store.root_causes.at(store.units.place(tag).id)


def forget(database):
    with database.writing() as store:
        for cause in kept(database).values():
            store.root_causes.drop(cause)


@pytest.fixture
def searched(monkeypatch):
    """The units that were searched, one after the other."""
    tags: list[str] = []
    whole = root_causes.remember

    def counting(store, place, *rest, **named):
        tags.append(place.tag)
        return whole(store, place, *rest, **named)

    monkeypatch.setattr(root_causes, "remember", counting)
    return tags


def test_a_visit_to_a_unit_without_repeated_failures_searches_nothing(failing, make, searched) -> None:
    with failing.writing() as store:
        make.visit(store, "GU-1", "2026-06-08T18:00:00Z", replacements=[burnt()])
        make.visit(store, "GU-2", "2026-06-08T18:00:00Z")

    assert searched == ["GU-2"]


def test_a_visit_to_a_unit_with_a_root_cause_searches_it_however_few_its_failures(failing, make) -> None:
    with failing.writing() as store:
        place = store.units.place("GU-1")
        store.root_causes.add(replace(kept(failing)["power_switch"], id=0, unit="GU-1", version=1), place)
        make.visit(store, "GU-1", "2026-06-08T18:00:00Z")

    assert kept(failing, "GU-1") == {}


def test_what_a_unit_search_finds_the_fleet_search_finds_again(failing, searched) -> None:
    before = kept(failing)
    forget(failing)
    count = root_causes.search_fleet(failing, before["power_switch"].first_seen, gap=lambda: None)
    found = kept(failing)["power_switch"]

    assert (count, searched, found.evidence_key) == (1, ["GU-2"], before["power_switch"].evidence_key)


def test_an_empty_database_is_searched(database, make) -> None:
    assert root_causes.search_of_the_day(database, make.now, gap=lambda: None) == 0


def test_a_fleet_is_searched_once_a_day_however_many_ask(failing, new_database, make) -> None:
    hours = (0, 1, 2, 24, -24)
    done = [
        root_causes.search_of_the_day(database, make.now + timedelta(hours=n), gap=lambda: None) is not None
        for database, n in zip((failing, new_database(), failing, failing, failing), hours, strict=True)
    ]

    assert done == [True, False, False, True, True]


def test_a_search_that_was_stopped_is_done_again(failing, make, monkeypatch) -> None:
    def stopped(*_):
        raise KeyboardInterrupt

    forget(failing)
    with monkeypatch.context() as stopping:
        stopping.setattr(root_causes, "search", stopped)
        with pytest.raises(KeyboardInterrupt):
            root_causes.search_of_the_day(failing, make.now, gap=lambda: None)

    assert root_causes.search_of_the_day(failing, make.now, gap=lambda: None) == 1


@pytest.mark.parametrize("back", [timedelta(minutes=1), timedelta(days=1), timedelta(days=400)])
def test_a_clock_set_back_changes_nothing(failing, make, back) -> None:
    before = kept(failing)
    root_causes.search_of_the_day(failing, make.now - back, gap=lambda: None)

    assert kept(failing) == before != {}


def test_visits_get_through_between_the_turns(failing, make, monkeypatch) -> None:
    monkeypatch.setattr(root_causes, "UNITS_A_TURN", 1)
    with failing.writing() as store:
        for day in DAYS:
            make.visit(store, "GU-1", f"{day}T18:00:00Z", replacements=[burnt()])
    posted = []

    def post() -> None:
        with failing.writing() as store:
            posted.append(make.visit(store, "GU-1", "2026-06-08T18:00:00Z"))

    forget(failing)
    searched = root_causes.search_fleet(failing, make.now, gap=post)

    assert len(posted) == searched + 1  # the first turn made the figures
    assert kept(failing) != {}


def test_what_the_fleet_taught_is_used(failing, make) -> None:
    often = default_setting("power_switch")
    learned = Baselines({"power_switch": replace(often, rate=20.0)})
    with failing.writing() as store:
        store.baselines.keep(to_json(learned), "2026-06-09T00:00:00.000000Z")
        place = store.units.place("GU-2")
        left = root_causes.search(store, place, store.unit_logs.get(place.id, place.log_version), make.now)

    assert left == []  # five failures where sixty are usual


def test_a_move_to_another_time_zone_searches_the_units_of_the_site(failing, make, searched) -> None:
    with failing.writing() as store:
        fleet.change_site(store, make.actor, store.sites.get("quay"), {"time_zone": "Pacific/Auckland"})

    assert searched == ["GU-2"]
    assert kept(failing)["power_switch"].evidence_key.startswith("2025-12-09")


def test_a_change_of_a_unit_searches_it(failing, make, searched) -> None:
    with failing.writing() as store:
        units.change_unit(store, make.actor, store.units.get("GU-2"), {"place": "roof"})

    assert searched == ["GU-2"]


def test_voiding_in_a_file_leaves_the_search_to_its_end(failing, make, searched) -> None:
    with failing.writing() as store:
        visit = make.visit(store, "GU-2", "2026-06-08T18:00:00Z")
        visits.void_visit(store, make.actor, store.visits.get(visit), "wrong", search=False)

    assert searched == ["GU-2"]


def test_what_was_known_goes_on_where_a_part_ended_early(failing, make, monkeypatch) -> None:
    monkeypatch.setattr(root_causes, "UNITS_A_PAGE", 1)
    with failing.writing() as store:
        for day in DAYS:
            make.visit(store, "GU-1", f"{day}T18:00:00Z", replacements=[burnt()])
    found, after = [], (0, "")
    while after is not None:
        with failing.reading() as store:
            part, after = root_causes.as_known(
                store, root_causes.RootCauseFilter(), make.now.date(), at=make.now, after=after, limit=5
            )
        found += [cause.unit for cause in part]

    assert found == ["GU-1", "GU-2"]
