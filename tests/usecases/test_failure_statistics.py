"""The night's figures are those of the record as it stands, whatever order it was told in."""

import random
from dataclasses import replace
from typing import Any

import orjson
import pytest
from sqlalchemy import select

from service.domain.root_causes import figures
from service.domain.root_causes.engine import candidates_of
from service.schemas.transfer import read_lines
from service.storage.tables import failure_statistics as failure_statistics_table
from service.usecases import failure_statistics, importing, root_causes, visits
from tests.simulation.fleet import fleet
from tests.simulation.lines import lines
from tests.simulation.plan import Plan
from tests.usecases.conftest import NOW

ALL = sorted(fleet(150, 3, Plan()), key=lambda made: len(made.origins))
MADE = [*ALL[:12], *ALL[-6:]]  # twelve without trouble, six with much


LINES = list(lines(MADE))
VISITS = [line for line in LINES if line["record"] == "visit"]


@pytest.fixture
def told(book, make):
    """A made fleet, its visits told one by one in a random order."""
    units = [line for line in LINES if line["record"] != "visit"]
    with book.writing() as store:
        importing.take_in(store, make.actor, read_lines(map(orjson.dumps, units)), keep_good=False)
    for visit in random.Random(5).sample(VISITS, len(VISITS)):
        with book.writing() as store:
            make.visit(store, **{name: part for name, part in visit.items() if name != "record"})
    return book


def night(book) -> dict[str, Any]:
    """The cases after a night's search, by unit and kind."""
    root_causes.search_fleet(book, NOW, gap=lambda: None)
    with book.reading() as store:
        assert store.failure_statistics.units_without(0, 10) == []
        return {(case.unit, case.kind): case for case in store.root_causes.in_order(0, 1000)}


def from_the_records(book) -> dict[Any, float]:
    with book.reading() as store:
        baselines = root_causes.baselines_of(store)
        records = [record for _, record in store.unit_records.of(1, 10**6, as_of=NOW.date())]
    found = [each for record in records for each in candidates_of(record, baselines, NOW.date())]
    return {(each.unit, each.component_kind): each.luck_probability for each in found}


def test_visits_told_one_by_one_give_what_the_whole_record_gives(told) -> None:
    cases = night(told)

    assert len(cases) > 3
    assert {key: case.luck_probability for key, case in cases.items()} == pytest.approx(
        from_the_records(told), abs=0.02
    )


def test_a_search_of_each_unit_gives_the_same_to_the_last_digit(told) -> None:
    night(told)
    with told.writing() as store:
        for place in store.units.places_after(0, 100):
            root_causes.search(store, place, NOW)
        cases = store.root_causes.in_order(0, 1000)

    found = {(case.unit, case.kind): case.luck_probability for case in cases}
    assert found == pytest.approx(from_the_records(told), abs=1e-9)


def test_a_voided_visit_drops_its_units_figures_and_no_others(told, make) -> None:
    night(told)
    with told.writing() as store:
        tag = next(iter(store.root_causes.in_order(0, 1))).unit
        victim = next(made.record.replacements[0].day for made in MADE if made.record.tag == tag)
        visit_id = next(v["id"] for v in VISITS if v["unit"] == tag and v["arrived_at"].startswith(str(victim)))
        visits.void_visit(store, make.actor, store.visits.get(visit_id), "not ours")
        place = store.units.place(tag)

        assert store.failure_statistics.units_without(0, 10) == [place.id]


def test_figures_made_for_other_causes_are_made_anew(told, monkeypatch) -> None:
    night(told)
    monkeypatch.setattr(figures, "layout", lambda: "other")
    failure_statistics.state_all(told, NOW, gap=lambda: None)
    with told.reading() as store:
        assert len(store.failure_statistics.behind(0, 100)) > 3
        layouts = {row[0] for row in store.link.core(select(failure_statistics_table.c.layout))}
    assert layouts == {"other"}


def test_a_case_that_the_figures_show_no_more_is_searched_and_withdrawn(told) -> None:
    kept = night(told)
    with told.writing() as store:
        calm = next(place for place in store.units.places_after(0, 100) if (place.tag, "pump") not in kept)
        case = replace(next(iter(kept.values())), unit=calm.tag, kind="pump", evidence_key="gone", version=1)
        store.root_causes.add(case, calm)

    assert (calm.tag, "pump") not in night(told)


def test_new_words_of_a_cause_reach_every_case_by_night(told, monkeypatch) -> None:
    before = night(told)
    monkeypatch.setattr(root_causes, "search", search := Counting())
    root_causes.search_fleet(told, NOW, gap=lambda: None)
    unchanged = set(search.tags)
    monkeypatch.setattr(figures, "layout", lambda: "other words")
    root_causes.search_fleet(told, NOW, gap=lambda: None)

    assert unchanged == set()
    assert set(search.tags) == {unit for unit, _ in before}


class Counting:
    """Stands in for the search; keeps the tags of the units."""

    def __init__(self) -> None:
        self.tags: list[str] = []

    def __call__(self, store: Any, place: Any, at: Any) -> None:
        self.tags.append(place.tag)
