"""Readings that a failure may itself have made: common practice, no source, but that a stalled motor draws six times
its current (LRA = 6 x FLC, NEC table 430.251) is from memory."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes import views
from service.domain.root_causes.exposure import at
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.measured import faults_of
from tests.simulation.values import component, taken

START, END = date(2023, 1, 1), date(2025, 12, 31)
CALLS, PMS = (date(2024, 3, 1), date(2025, 3, 1)), (date(2024, 1, 5), date(2024, 9, 5), date(2025, 2, 5))
PARTS = (component("switch-1", "power_switch"), component("pump-1", "pump"), component("compressor-1", "compressor"))
BAD = {
    "terminal_temperature": ("switch-1", 365.0, 315.0, "temperature"),
    "bath_level": (None, 0.5, 0.92, "fraction"),
    "supply_voltage": (None, 97.0, 117.0, "voltage"),
}
VIEWS = {
    "terminal_temperature": (views.HOT_TERMINAL, "power_switch", "switch-1", "burnt"),
    "bath_level": (views.LOW_BATH, "pump", "pump-1", "leaking"),
    "supply_voltage": (views.LOW_VOLTAGE, "compressor", "compressor-1", "seized"),
}


def unit(quantity, *, condition=None, well=()):
    """Bad as found at two calls at which a part had failed; on the days `well` as it should be."""
    code, bad, good, dimension = BAD[quantity]
    _, kind, part, usual = VIEWS[quantity]
    failed = tuple(PartReplaced(part, kind, day, "failed", condition or usual, "seen", "us", str(day)) for day in CALLS)
    read = [(day, bad) for day in CALLS] + [(day, good) for day in well]
    readings = tuple(taken(quantity, code, value, dimension, day) for day, value in sorted(read))
    return FailureHistory("GU-1", START, END, PARTS, supply_voltage=115.0, replaced=failed, readings=readings)


def seen(quantity, history):
    view, kind, part, _ = VIEWS[quantity]
    place = view.place(kind, part)
    return views.Tracks(history).seen(view, kind, place)


@pytest.mark.parametrize("quantity", BAD)
def test_what_the_failure_made_is_left_out_where_it_was_read_when_all_was_well(quantity):
    assert at(seen(quantity, unit(quantity, well=PMS)).track, CALLS[1].toordinal()) == 0.0


@pytest.mark.parametrize("quantity", BAD)
def test_what_was_read_in_trouble_alone_counts_and_measures_little(quantity):
    found = seen(quantity, unit(quantity))

    assert at(found.track, CALLS[0].toordinal()) == 1.0
    assert found.measured_level <= views.BY_TROUBLE
    assert faults_of(unit(quantity)) == ()


@pytest.mark.parametrize("quantity", ["bath_level", "supply_voltage"])
def test_a_failure_that_makes_no_such_reading_leaves_it_as_it_is(quantity):
    """A burnt motor neither empties the bath nor draws the supply down: what was read then was so before."""
    history = unit(quantity, condition="burnt", well=PMS[:1])

    assert at(seen(quantity, history).track, CALLS[1].toordinal()) == 1.0
    assert seen(quantity, history).measured_level > 0.5


def test_a_terminal_as_left_with_a_new_switch_is_no_sign_of_the_failure():
    history = unit("terminal_temperature")
    left = tuple(taken("terminal_temperature", "switch-1", 314.0, "temperature", day, as_found=False) for day in CALLS)
    track = seen("terminal_temperature", replace(history, readings=(*history.readings, *left))).track

    assert at(track, (CALLS[0] + timedelta(days=1)).toordinal()) < 0.01
