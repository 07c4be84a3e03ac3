"""Where each cause begins and where it is full. The limits are of the trade or judged, as `causes.py` says of each."""

from datetime import date, timedelta

import pytest

from service.domain.record.unit_log import PartReplaced
from service.domain.root_causes import causes
from service.domain.root_causes.exposure import at
from service.domain.root_causes.history import FailureHistory
from tests.simulation.values import component, done, taken

START = date(2023, 1, 1)
LATER = START + timedelta(days=100)


def reading(quantity, value, dimension, *, component=None, sample=None):
    return taken(quantity, component, value, dimension, LATER, sample=sample)


def score(cause, kind, *readings, **more):
    record = FailureHistory("GU-1", START, START + timedelta(days=1000), readings=readings, **more)
    return at(cause(record, kind), LATER.toordinal())


@pytest.mark.parametrize(("percent", "expected"), [(35, 0.0), (28, 0.0), (25, 0.5), (22, 1.0), (10, 1.0)])
def test_glycol_is_weak_from_7_to_13_points_below_what_is_wanted(percent, expected):
    told = reading("glycol_strength", percent / 100, "mass_fraction")

    assert score(causes.weak, "pump", told, target_strength=0.35) == pytest.approx(expected)


def test_a_strength_read_as_a_freezing_point_counts_as_the_strength_it_is():
    """Propylene glycol of 21 % by mass freezes at 266 K: ASHRAE Handbook Fundamentals, 20.5 degF at 20 %."""
    told = reading("glycol_strength", 266.0, "temperature")

    assert score(causes.weak, "pump", told, target_strength=0.35) == pytest.approx(1.0)


@pytest.mark.parametrize(("percent", "expected"), [(27, 0.0), (24, 0.5), (21, 1.0)])
def test_slush_comes_from_27_to_21_percent_whatever_is_wanted(percent, expected):
    told = reading("glycol_strength", percent / 100, "mass_fraction")

    assert score(causes.slush, "pump", told, target_strength=0.5) == pytest.approx(expected)


@pytest.mark.parametrize(("percent", "expected"), [(40, 0.0), (46, 0.5), (52, 1.0)])
def test_glycol_is_strong_from_7_to_15_points_above_what_is_wanted(percent, expected):
    told = reading("glycol_strength", percent / 100, "mass_fraction")

    assert score(causes.strong, "pump", told, target_strength=0.35) == pytest.approx(expected)


@pytest.mark.parametrize(("share", "expected"), [(0.85, 0.0), (0.775, 0.5), (0.5, 1.0)])
def test_a_bath_is_low_from_85_to_70_percent(share, expected):
    assert score(causes.low_bath, "pump", reading("bath_level", share, "fraction")) == pytest.approx(expected)


@pytest.mark.parametrize(("volts", "expected"), [(115.0, 0.0), (108.1, 0.0), (104.65, 0.5), (100.0, 1.0)])
def test_voltage_is_low_from_94_to_88_percent_of_the_plate(volts, expected):
    told = reading("supply_voltage", volts, "voltage")

    assert score(causes.low_voltage, "compressor", told, supply_voltage=115.0) == pytest.approx(expected)
    assert score(causes.low_voltage, "compressor", told) == 0.0  # nobody told what it should be


@pytest.mark.parametrize(("kelvin", "expected"), [(305.0, 0.0), (313.65, 0.5), (320.0, 1.0)])
def test_a_place_is_hot_from_35_to_46_degrees(kelvin, expected):
    told = reading("ambient_temperature", kelvin, "temperature")

    assert score(causes.hot_place, "compressor", told) == pytest.approx(expected)


@pytest.mark.parametrize(("rating", "expected"), [("ac_only", 1.0), ("motor", 0.56), (None, 1.0)])
def test_a_switch_is_overloaded_by_what_its_kind_of_rating_bears(rating, expected):
    """18.5 A on 20 A: an AC-only switch bears 16 A of motors (NEC 404.14), a motor-rated one 17.4 A (NEC 430.110)."""
    places = (component("switch-1", "power_switch", (), 20.0, rating),)
    told = reading("current", 18.5, "current", component="switch-1")
    clean = (done("condenser_clean", LATER - timedelta(days=1), "done", "clean"),)

    found = score(causes.overload, "power_switch", told, components=places, performed=clean)
    assert found == pytest.approx(expected, abs=0.005)


def test_what_a_fouled_condenser_adds_to_the_current_is_not_the_switchs_fault():
    """18.5 A at a condenser uncleaned for 300 days is 15.2 A at a clean one: 22 %, common practice, no source."""
    places = (component("switch-1", "power_switch", (), 20.0, "ac_only"),)
    late = taken("current", "switch-1", 18.5, "current", START + timedelta(days=300))

    assert score(causes.overload, "power_switch", late, components=places) == 0.0


def test_without_a_reading_the_plates_of_what_it_feeds_are_added_up():
    places = (
        component("switch-1", "power_switch", ("pump-1", "compressor-1"), 20.0, "ac_only"),
        component("pump-1", "pump", (), 6.0),
        component("compressor-1", "compressor", (), 11.0),
    )

    assert score(causes.overload, "power_switch", components=places) == pytest.approx((17 / 16 - 0.98) / 0.15)
    assert score(causes.overload, "power_switch", components=places[:2]) == 0.0  # nobody knows the rest


def test_a_strainer_blocks_from_180_to_360_days_where_it_was_ever_looked_after():
    cleaned = (done("strainer_clean", START, "done", "light"), done("strainer_clean", LATER, "done", "light"))
    record = FailureHistory("GU-1", START, START + timedelta(days=1000), performed=cleaned)
    track = causes.strainer(record, "pump")

    assert [at(track, LATER.toordinal() + days) for days in (170, 270, 400)] == pytest.approx([0.0, 0.5, 1.0])
    assert causes.strainer(FailureHistory("GU-1", START, LATER), "pump") == ()


def test_after_a_repair_is_after_another_part_and_a_bad_part_after_its_like():
    pump = PartReplaced("pump-1", "pump", LATER, "failed", "seized", "seen", "us", "v1")
    record = FailureHistory("GU-1", START, START + timedelta(days=1000), replaced=(pump,))
    soon = LATER.toordinal() + 20

    assert (at(causes.repaired(record, "power_switch"), soon), at(causes.repaired(record, "pump"), soon)) == (1.0, 0.0)
    assert (at(causes.new_part(record, "pump"), soon), at(causes.new_part(record, "power_switch"), soon)) == (1.0, 0.0)
    assert (at(causes.repaired(record, "power_switch"), soon + 20), at(causes.new_part(record, "pump"), soon + 50)) == (
        0,
        0,
    )
