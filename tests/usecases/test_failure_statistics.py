"""The night's figures are those of the record as it stands, whatever order it was shown in."""

import random
from dataclasses import replace
from datetime import UTC, date, datetime, time
from itertools import chain
from typing import Any

import orjson
import pytest
from sqlalchemy import select

from service.domain.record.failed import is_failure
from service.domain.record.imprecise_days import latest_by
from service.domain.root_causes import figures
from service.domain.root_causes.baselines_json import from_json
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.history import history_of, may_have_failed_twice
from service.domain.root_causes.sequences import counted
from service.schemas.transfer import read_lines
from service.storage.tables import failure_statistics as failure_statistics_table
from service.usecases.record import visits
from service.usecases.root_causes import failure_statistics, root_causes
from service.usecases.transfer import importing
from tests.simulation.fleet import fleet
from tests.simulation.lines import lines
from tests.simulation.plan import Plan
from tests.simulation.values import parts_of_log
from tests.usecases.conftest import NOW

ALL = sorted(fleet(150, 3, Plan()), key=lambda made: len(made.origins))
MADE = [*ALL[:12], *ALL[-6:]]  # twelve without trouble, six with much


LINES = list(lines(MADE))
VISITS = [line for line in LINES if line["record"] == "visit"]


@pytest.fixture
def shown(database, make):
    """A made fleet, its visits shown one by one in a random order."""
    units = [line for line in LINES if line["record"] != "visit"]
    with database.writing() as store:
        importing.import_records(store, make.actor, read_lines(map(orjson.dumps, units)), keep_good=False)
    for visit in random.Random(5).sample(VISITS, len(VISITS)):
        with database.writing() as store:
            make.visit(store, **{name: part for name, part in visit.items() if name != "record"})
    return database


def night(database) -> dict[str, Any]:
    """The known after a night's search, by unit and kind."""
    root_causes.search_fleet(database, NOW, gap=lambda: None)
    with database.reading() as store:
        assert store.failure_statistics.stale(figures.layout(), after=0, most=10) == {}
        return {(cause.unit, cause.kind): cause for cause in store.root_causes.in_order(0, 1000)}


def from_the_logs(database) -> dict[Any, float]:
    with database.reading() as store:
        baselines = from_json(store.baselines.latest())
        histories = [history_of(log, NOW.date()) for _, log in chain.from_iterable(store.unit_logs.in_chunks())]
    found = [each for history in histories for each in root_causes_of(history, baselines, NOW.date())]
    return {(each.unit, each.component_kind): each.probability_of_chance for each in found}


def test_visits_reported_one_by_one_give_what_the_whole_record_gives(shown) -> None:
    known = night(shown)

    assert len(known) > 3
    assert {key: cause.probability_of_chance for key, cause in known.items()} == pytest.approx(
        from_the_logs(shown), abs=0.02
    )


def test_a_search_of_each_unit_gives_the_same_to_the_last_digit(shown) -> None:
    night(shown)
    with shown.writing() as store:
        logs = dict(chain.from_iterable(store.unit_logs.in_chunks()))
        for place in store.units.places_in(1, 100):
            root_causes.search(store, place, logs[place.id], NOW)
        known = store.root_causes.in_order(0, 1000)

    found = {(cause.unit, cause.kind): cause.probability_of_chance for cause in known}
    assert found == pytest.approx(from_the_logs(shown), abs=1e-9)


def test_a_voided_visit_makes_its_units_figures_stale_and_no_others(shown, make) -> None:
    night(shown)
    with shown.writing() as store:
        tag = next(iter(store.root_causes.in_order(0, 1))).unit
        victim = next(made.history.replaced[0].on for made in MADE if made.history.tag == tag)
        visit_id = next(v["id"] for v in VISITS if v["unit"] == tag and v["arrived_at"].startswith(str(victim)))
        visits.void_visit(store, make.actor, store.visits.get(visit_id), "not ours")
        place = store.units.place(tag)

        assert store.failure_statistics.stale(figures.layout(), after=0, most=10) == {place.id: place.log_version}


@pytest.fixture
def with_the_unusual(shown, make):
    """Also a voided visit, a part that failed long before it was reported, and two of one kind."""
    by_others = {"reason": "failed", "condition": "burnt", "evidence": "reported", "by": "others", "on": "2023-02-01"}
    switch = {"component": "switch-1", "reason": "unknown", "condition": "burnt", "evidence": "seen"}
    calm = [made.history.tag for made in MADE if not made.origins]
    with shown.writing() as store:
        voided = make.visit(store, calm[0], "2026-03-01T12:00:00Z", replacements=[switch])
        for tag in calm[:2]:
            make.visit(store, tag, "2026-04-01T12:00:00Z", replacements=[switch])
        make.visit(store, calm[1], "2026-05-01T12:00:00Z", replacements=[switch | by_others])
        make.visit(store, calm[2], "2026-05-01T12:00:00Z", replacements=[switch | by_others, switch])
        other = switch | {"component": "switch-2", "kind": "power_switch"}
        make.visit(store, calm[3], "2026-05-01T12:00:00Z", replacements=[switch, other])
        for condition, tag in (("worn", calm[4]), ("good", calm[5])):
            unknown = switch | {"condition": condition}
            make.visit(store, tag, "2026-04-01T12:00:00Z", replacements=[unknown])
            make.visit(store, tag, "2026-05-01T12:00:00Z", replacements=[unknown])
        visits.void_visit(store, make.actor, store.visits.get(voided), "another unit")
    return shown


@pytest.mark.parametrize("until", [date(2024, 3, 1), NOW.date()])
def test_the_questions_about_many_units_hold_what_the_logs_hold(with_the_unusual, until) -> None:
    with with_the_unusual.reading() as store:
        logs = dict(chain.from_iterable(store.unit_logs.in_chunks()))
        twice = store.failures.twice(until.isoformat(), after=0, most=1000, customer_code=None, tag=None)
        to_search = store.failures.to_search(list(logs))
        stored = {key for key, log in logs.items() if store.root_causes.of(log.unit.tag)}
        sample = {history.tag: history for history in store.failures.of_sample(10**6, 1, as_of=until)}

    instant = datetime.combine(until, time(23, 59), UTC)
    assert twice == [key for key, log in logs.items() if _replaced_twice(log, until)] != []
    assert {key for key, log in logs.items() if may_have_failed_twice(log.as_of(instant))} <= set(twice)
    assert to_search == [key for key, log in logs.items() if may_have_failed_twice(log) or key in stored]
    whole = {history.tag: history for history in (history_of(log, until) for log in logs.values())}
    assert {tag: failures.replaced for tag, failures in sample.items()} == {
        tag: failed for tag, history in whole.items() if (failed := _failed(history))
    }
    assert counted(sample.values()) == counted(whole[tag] for tag in sample)


@pytest.mark.parametrize("until", [date(2024, 3, 1), NOW.date()])
def test_what_was_put_into_units_is_what_the_logs_hold(with_the_unusual, make, until) -> None:
    item = {"maker": "Tarn", "model": "P9"}
    people = [{"record": "technician", "code": code, "name": code} for code in ("otis", "petra")]
    tag = MADE[0].history.tag
    part = {"component": "pump-1", "reason": "failed", "condition": "worn", "evidence": "seen", "item": item}
    with with_the_unusual.writing() as store:
        importing.import_records(store, make.actor, read_lines(map(orjson.dumps, people)), keep_good=False)
        make.visit(store, tag, "2024-02-01T12:00:00Z", replacements=[part], technician="otis", crew=["petra"])
    with with_the_unusual.reading() as store:
        logs = {log.unit.tag: log for _, log in chain.from_iterable(store.unit_logs.in_chunks())}
        put_in = {each.unit: each for each in store.failures.fitted(as_of=until)}
        places = store.failures.sites()

    assert put_in == {tag: parts for tag, log in logs.items() if (parts := parts_of_log(log, until))}
    assert any(each.model == "P9" and each.technicians == ("otis", "petra") for each in put_in[tag].fitted)
    assert {tag for tag, _ in places.values()} == set(logs)


def _replaced_twice(log, until) -> bool:
    """Whether parts of one kind were replaced on two days by a day, for whatever reason, voided visits among them."""
    each = ((part, v.day) for v in log.all_visits for part in v.replacements)
    parts = [(log.unit.kinds[part.component], latest_by(part.on, day)) for part, day in each]
    days = {(kind, day) for kind, day in parts if day <= until}
    return len(days) > len({kind for kind, _ in days})


def _failed(history) -> tuple[Any, ...]:
    return tuple(replace(part, note=None) for part in history.replaced if is_failure(part))


def test_figures_made_for_other_causes_are_made_anew(shown, monkeypatch) -> None:
    night(shown)
    monkeypatch.setattr(figures, "layout", lambda: "other")
    failure_statistics.renew(shown, NOW, gap=lambda: None)
    with shown.reading() as store:
        assert len(store.failure_statistics.after("other", 0, 100)) > 3
        layouts = {row[0] for row in store.link.core(select(failure_statistics_table.c.layout))}
    assert layouts == {"other"}


def test_figures_of_a_unit_that_changed_while_they_were_made_are_made_anew(shown, monkeypatch) -> None:
    """They are made beside other writers, so what they say may be of a history that is over."""
    night(shown)
    with shown.writing() as store:
        first, *_ = store.units.places_in(1, 1000)
        store.units.raise_log(first, 0)
    made = failure_statistics.next_made

    def overtaken(store, at, after):
        found = made(store, at, after)
        if found:
            with shown.writing() as other:
                other.units.raise_log(other.units.place(first.tag), 0)
        return found

    monkeypatch.setattr(failure_statistics, "next_made", overtaken)
    failure_statistics.renew(shown, NOW, gap=lambda: None)

    with shown.reading() as store:
        assert list(store.failure_statistics.stale(figures.layout(), after=0, most=9)) == [first.id]
    monkeypatch.undo()
    failure_statistics.renew(shown, NOW, gap=lambda: None)
    with shown.reading() as store:
        assert not store.failure_statistics.stale(figures.layout(), after=0, most=9)


def test_a_root_cause_that_the_figures_show_no_more_is_searched_and_withdrawn(shown) -> None:
    kept = night(shown)
    with shown.writing() as store:
        calm = next(place for place in store.units.places_in(1, 100) if (place.tag, "pump") not in kept)
        cause = replace(next(iter(kept.values())), id=0, unit=calm.tag, kind="pump", evidence_key="gone", version=1)
        store.root_causes.add(cause, calm)

    assert (calm.tag, "pump") not in night(shown)


def test_new_words_of_a_cause_reach_every_root_cause_by_night(shown, monkeypatch) -> None:
    before = night(shown)
    monkeypatch.setattr(root_causes, "search", search := Counting())
    root_causes.search_fleet(shown, NOW, gap=lambda: None)
    unchanged = set(search.tags)
    monkeypatch.setattr(figures, "layout", lambda: "other words")
    root_causes.search_fleet(shown, NOW, gap=lambda: None)

    assert unchanged == set()
    assert set(search.tags) == {unit for unit, _ in before}


class Counting:
    """Stands in for the search; keeps the tags of the units."""

    def __init__(self) -> None:
        self.tags: list[str] = []

    def __call__(self, store: Any, place: Any, log: Any, at: Any) -> None:
        self.tags.append(place.tag)
