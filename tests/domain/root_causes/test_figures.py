"""Rows of a night's work say what the record itself says, that day and later."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.comparison import compare, pairs_of
from service.domain.root_causes.engine import candidates_of
from service.domain.root_causes.figures import (
    KIND,
    KINDS,
    learned_of,
    packed,
    pairs_on,
    suspects,
    tail_of,
    taught_by,
    unpacked,
)
from service.domain.root_causes.statistics import pair_statistics
from tests.simulation.fleet import fleet
from tests.simulation.plan import BASE, Plan

FLEET = [made.record for made in fleet(60, 11, Plan(rate=3.0))]


def last_told(record):
    return max([e.on for e in (*record.readings, *record.replaced, *record.performed)])


@pytest.mark.parametrize("later", [0, 40, 400])
def test_rows_of_the_last_visit_say_what_the_record_says_later(later):
    for record in FLEET:
        told, day = last_told(record), last_told(record) + timedelta(days=later)
        rows = unpacked([packed(record.until(told), everything=True)])
        for kind in BASE:
            found = pairs_on(rows[rows[:, KIND] == KINDS.index(kind)], kind, day.toordinal())
            fresh = pairs_of(kind, [pair_statistics(replace(record, end=day), kind, day)])
            for name in ("count", "years", "exposed", "gains", "made", "excess_gain"):
                assert getattr(found, name) == pytest.approx(getattr(fresh, name), abs=1e-9)


def test_a_retired_unit_is_watched_no_longer():
    record = replace(FLEET[0], retired=True)
    rows = unpacked([packed(record, everything=True)])
    kind = KINDS[int(rows[0, KIND])]

    then, later = (pairs_on(rows[:1], kind, record.end.toordinal() + days) for days in (0, 500))
    assert then.years == later.years


def test_the_night_suspects_whom_the_record_accuses():
    day = FLEET[0].end
    learned = learned_of(FLEET, day)
    figures = [unpacked([packed(record, everything=False)]) for record in FLEET]
    by_night = {
        (record.tag, kind): luck
        for record, rows in zip(FLEET, figures, strict=True)
        for _, kind, luck in suspects(rows, learned, day.toordinal())
    }
    by_record = {
        (c.unit, c.component_kind): c.luck_probability for record in FLEET for c in candidates_of(record, learned, day)
    }

    assert len(by_record) > 5
    assert by_night == pytest.approx(by_record, abs=1e-9)


def test_units_weighed_together_say_what_each_says_alone():
    kind, day = "power_switch", FLEET[0].end
    stats = [pair_statistics(record, kind, day) for record in FLEET]
    setting = defaults().of(kind)

    together = compare(pairs_of(kind, stats), setting).luck
    assert together == pytest.approx(
        np.array([compare(pairs_of(kind, [s]), setting).luck[0] for s in stats]), abs=1e-12
    )


def test_a_score_that_turns_too_often_is_refused():
    with pytest.raises(ValueError, match="twice"):
        tail_of(((0, 0.0, 0.0), (5, 1.0, 1.0), (9, 0.0, 0.0), (12, 1.0, 1.0)), 1)


def test_a_small_fleet_is_learned_from_whole_and_a_large_one_by_a_sample():
    assert all(taught_by(key) for key in range(1, 1001))
    assert sum(taught_by(key) for key in range(1001, 101_001)) == 6250


def test_a_unit_without_failures_needs_no_rows():
    record = replace(FLEET[0], replaced=(), end=date(2024, 1, 1))

    assert packed(record, everything=False) == ""
