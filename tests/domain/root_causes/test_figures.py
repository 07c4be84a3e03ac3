"""Rows of a night's work say what the history itself says, that day and later."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from service.domain.root_causes.baselines import Baselines, defaults
from service.domain.root_causes.comparison import arrays_of, compare
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.failures import failures_of
from service.domain.root_causes.figures import (
    FIRST,
    KIND,
    KINDS,
    arrays_on,
    in_sample,
    packed,
    tail_of,
    unlikely_by_chance,
    unpacked,
)
from service.domain.root_causes.fleet_search import FleetCause
from tests.simulation.fleet import fleet
from tests.simulation.plan import BASE, Plan
from tests.simulation.values import component, learned_of


def with_two_switches(history):
    """Every second failure of the switch is one of another that feeds the pump alone."""
    own = [part for part in history.replaced if part.kind == "power_switch"]
    moved = {id(part) for part in own[1::2]}
    replaced = [replace(part, component="switch-2") if id(part) in moved else part for part in history.replaced]
    second = component("switch-2", "power_switch", ("pump-1",))
    return replace(history, components=(*history.components, second), replaced=tuple(replaced))


FLEET = [made.history for made in fleet(60, 11, Plan(rate=3.0))]
FLEET[:20] = map(with_two_switches, FLEET[:20])


def last_day(history):
    return max([e.on for e in (*history.readings, *history.replaced, *history.performed)])


@pytest.mark.parametrize("later", [0, 40, 400])
def test_rows_of_the_last_visit_say_what_the_record_says_later(later):
    for history in FLEET:
        last, day = last_day(history), last_day(history) + timedelta(days=later)
        rows = unpacked([packed(history.until(last), everything=True)])
        for kind in BASE:
            found = arrays_on(rows[rows[:, KIND] == KINDS.index(kind)], kind, day.toordinal())
            fresh = arrays_of(kind, [failures_of(replace(history, end=day), kind, day)])
            for name in ("count", "years", "exposed", "gains", "made", "measured_level"):
                assert getattr(found, name) == pytest.approx(getattr(fresh, name), abs=1e-9)


def test_a_retired_unit_is_watched_no_longer():
    history = replace(FLEET[0], retired=True)
    rows = unpacked([packed(history, everything=True)])
    kind = KINDS[int(rows[0, KIND])]

    then, later = (arrays_on(rows[:1], kind, history.end.toordinal() + days) for days in (0, 500))
    assert then.years == later.years


def test_the_night_suspects_whom_the_record_accuses():
    day = FLEET[0].end
    learned = learned_of(FLEET, day)
    figures = [unpacked([packed(history, everything=False)]) for history in FLEET]
    by_night = {
        (history.tag, kind): chance
        for history, rows in zip(FLEET, figures, strict=True)
        for _, kind, chance, _ in unlikely_by_chance(rows, learned, day.toordinal())
    }
    by_record = {
        (c.unit, c.component_kind): c.probability_of_chance
        for history in FLEET
        for c in root_causes_of(history, learned, day)
    }

    assert len(by_record) > 5
    assert by_night == pytest.approx(by_record, abs=1e-9)


def test_what_the_fleet_shows_of_new_parts_counts_for_the_unit_by_night_and_by_its_record():
    day, last = FLEET[0].end, FLEET[0].end.toordinal()
    tags = [history.tag for history in FLEET]
    rows = unpacked([packed(history, everything=True) for history in FLEET])
    place = next(f"{h.tag}/{k}" for h in FLEET for k in BASE if failures_of(h, k, day).failure_days == 2)
    unit, kind = place.split("/")
    batch = FleetCause(
        "model", "Tarn P9", (kind,), "bad_parts", "strong", 0.0, (unit,), 9, 9, 0.9, day, day, (place, place), 0.9
    )
    plain, known = defaults(), Baselines(fleet=(batch,))

    before, after = (
        {(tags[n], k): c for n, k, c, _ in found_by_night(rows, each, last, tags)} for each in (plain, known)
    )
    (own,) = [
        each for h in FLEET if h.tag == unit for each in root_causes_of(h, known, day) if each.component_kind == kind
    ]
    assert after[unit, kind] == pytest.approx(own.probability_of_chance, abs=1e-9)
    assert own.probability_of_chance < 0.1 < before.get((unit, kind), 1.0)
    once = replace(batch, places=(place,))
    assert not any(
        each.component_kind == kind
        for h in FLEET
        if h.tag == unit
        for each in root_causes_of(h, replace(known, fleet=(once,)), day)
    )
    assert own.causes[0].cause == "bad_parts"
    assert own.remarks["fleet_shows"] == "model Tarn P9"
    assert own.probability_of_chance + sum(each.probability for each in own.causes) == pytest.approx(1.0)
    assert {key: chance for key, chance in after.items() if key != (unit, kind)} == {
        key: chance for key, chance in before.items() if key != (unit, kind)
    }


def found_by_night(rows, known, day, tags):
    """As `unlikely_by_chance`, with the number of the unit instead of the row."""
    owners = np.cumsum(rows[:, FIRST] > 0) - 1
    return [(owners[row], *rest) for row, *rest in unlikely_by_chance(rows, known, day, tags)]


def test_units_weighed_together_say_what_each_says_alone():
    kind, day = "power_switch", FLEET[0].end
    stats = [failures_of(history, kind, day) for history in FLEET]
    setting = defaults().of(kind)

    together = compare(arrays_of(kind, stats), setting).chance
    assert together == pytest.approx(
        np.array([compare(arrays_of(kind, [s]), setting).chance[0] for s in stats]), abs=1e-12
    )


def test_a_score_that_turns_too_often_is_refused():
    with pytest.raises(ValueError, match="twice"):
        tail_of(((0, 0.0, 0.0), (5, 1.0, 1.0), (9, 0.0, 0.0), (12, 1.0, 1.0)), 1)


def test_a_small_fleet_is_learned_from_whole_and_a_large_one_by_a_sample():
    assert all(in_sample(key) for key in range(1, 1001))
    assert sum(in_sample(key) for key in range(1001, 101_001)) == 6250


def test_a_unit_without_failures_needs_no_rows():
    history = replace(FLEET[0], replaced=(), end=date(2024, 1, 1))

    assert packed(history, everything=False) == ""
