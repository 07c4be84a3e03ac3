"""Rows of a night's work say what the history itself says, that day and later."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.comparison import arrays_of, compare
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.failures import failures_of
from service.domain.root_causes.figures import (
    KIND,
    KINDS,
    arrays_on,
    in_sample,
    packed,
    tail_of,
    unlikely_by_chance,
    unpacked,
)
from tests.simulation.fleet import fleet
from tests.simulation.plan import BASE, Plan
from tests.simulation.values import learned_of

FLEET = [made.history for made in fleet(60, 11, Plan(rate=3.0))]


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
