"""Where each cause begins and where it is full. The limits are of the trade or judged, as `causes.py` says of each."""

from datetime import date, timedelta

import pytest

from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes import before_failure, views
from service.domain.root_causes.causes import BY_CODE
from service.domain.root_causes.exposure import at
from service.domain.root_causes.history import FailureHistory
from tests.simulation.values import component, done, taken

START = date(2023, 1, 1)
LATER = START + timedelta(days=100)


def reading(quantity, value, dimension, *, component=None, sample=None):
    return taken(quantity, component, value, dimension, LATER, sample=sample)


def score(cause, kind, *readings, **more):
    history = FailureHistory("GU-1", START, START + timedelta(days=1000), readings=readings, **more)
    return at(cause.track(history, kind), LATER.toordinal())


@pytest.mark.parametrize(("percent", "expected"), [(35, 0.0), (28, 0.0), (25, 0.5), (22, 1.0), (10, 1.0)])
def test_glycol_is_weak_from_7_to_13_points_below_what_is_wanted(percent, expected):
    read = reading("glycol_strength", percent / 100, "mass_fraction")

    assert score(views.WEAK, "pump", read, target_strength=0.35) == pytest.approx(expected)


def test_a_strength_read_as_a_freezing_point_counts_as_the_strength_it_is():
    """Propylene glycol of 21 % by mass freezes at 266 K: ASHRAE Handbook Fundamentals, 20.5 degF at 20 %."""
    read = reading("glycol_strength", 266.0, "temperature")

    assert score(views.WEAK, "pump", read, target_strength=0.35) == pytest.approx(1.0)


@pytest.mark.parametrize(("percent", "expected"), [(27, 0.0), (24, 0.5), (21, 1.0)])
def test_slush_comes_from_27_to_21_percent_whatever_is_wanted(percent, expected):
    read = reading("glycol_strength", percent / 100, "mass_fraction")

    assert score(views.SLUSH, "pump", read, target_strength=0.5) == pytest.approx(expected)


@pytest.mark.parametrize(("percent", "expected"), [(40, 0.0), (46, 0.5), (52, 1.0)])
def test_glycol_is_strong_from_7_to_15_points_above_what_is_wanted(percent, expected):
    read = reading("glycol_strength", percent / 100, "mass_fraction")

    assert score(views.STRONG, "pump", read, target_strength=0.35) == pytest.approx(expected)


@pytest.mark.parametrize(("share", "expected"), [(0.85, 0.0), (0.775, 0.5), (0.5, 1.0)])
def test_a_bath_is_low_from_85_to_70_percent(share, expected):
    assert score(views.LOW_BATH, "pump", reading("bath_level", share, "fraction")) == pytest.approx(expected)


@pytest.mark.parametrize(("volts", "expected"), [(115.0, 0.0), (108.1, 0.0), (104.65, 0.5), (100.0, 1.0)])
def test_voltage_is_low_from_94_to_88_percent_of_the_plate(volts, expected):
    read = reading("supply_voltage", volts, "voltage")

    assert score(views.LOW_VOLTAGE, "compressor", read, supply_voltage=115.0) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("read", "high"),
    [((113, 116, 131), 1.0), ((100, 131, 99), 0.0), ((128, 131, 126), 0.0), ((131, 208, 230), 0.0), ((), 0.0)],
)
def test_without_a_plate_the_median_reading_says_whether_115_volts_are_meant(read, high):
    """A supply of 100 V (Japan) is 95 to 107 V, one of 127 V (Mexico) 114 V at worst and mostly more: from memory."""
    days = [START + timedelta(days=n) for n in (10, 50, 100)]
    taken_then = tuple(
        taken("supply_voltage", None, float(volts), "voltage", day) for volts, day in zip(read, days, strict=False)
    )
    history = FailureHistory("GU-1", START, START + timedelta(days=1000), readings=taken_then)
    track = views.HIGH_VOLTAGE.track(history, "pump")

    assert max((found for _, found, _ in track), default=0.0) == high
    assert before_failure.nameplates(history, BY_CODE["high_voltage"], set()) == (
        {"supply": "115 V by its readings, not recorded"} if high else {}
    )


@pytest.mark.parametrize(("kelvin", "expected"), [(305.0, 0.0), (313.65, 0.5), (320.0, 1.0)])
def test_a_place_is_hot_from_35_to_46_degrees(kelvin, expected):
    read = reading("ambient_temperature", kelvin, "temperature")

    assert score(views.HOT_PLACE, "compressor", read) == pytest.approx(expected)


# Hot air that comes back to the condenser is the air in which its compressor works. Common practice, no source.
@pytest.mark.parametrize(("stood", "expected"), [(False, 1.0), (True, 0.0)])
def test_the_air_that_the_condenser_draws_in_counts_but_not_what_a_fan_that_stood_let_come_back(stood, expected):
    air = reading("condenser_air_in_temperature", 320.0, "temperature")
    room = reading("ambient_temperature", 300.0, "temperature")
    fan = PartReplaced("fan-1", "condenser_fan", LATER, "failed", "seized", "seen", "us", "v")

    for order in ((air, room), (room, air)):
        assert score(views.HOT_PLACE, "compressor", *order, replaced=(fan,) * stood) == pytest.approx(expected)


@pytest.mark.parametrize(("rating", "expected"), [("ac_only", 1.0), ("motor", 0.425), (None, 1.0)])
def test_a_switch_is_overloaded_by_what_its_kind_of_rating_bears(rating, expected):
    """18.5 A on 20 A: an AC-only switch bears 16 A of motors (NEC 404.14), a motor-rated one 17.4 A (NEC 430.110)."""
    places = (component("switch-1", "power_switch", (), 20.0, rating),)
    read = reading("current", 18.5, "current", component="switch-1")
    clean = (done("condenser_clean", LATER - timedelta(days=1), "done", "clean"),)

    found = score(views.OVERLOAD, "power_switch", read, components=places, performed=clean)
    assert found == pytest.approx(expected, abs=0.005)


def test_what_a_fouled_condenser_adds_to_the_current_is_not_the_switchs_fault():
    """18.5 A at a condenser uncleaned for 300 days is 15.2 A at a clean one: 22 %, common practice, no source."""
    places = (component("switch-1", "power_switch", (), 20.0, "ac_only"),)
    late = taken("current", "switch-1", 18.5, "current", START + timedelta(days=300))

    assert score(views.OVERLOAD, "power_switch", late, components=places) == 0.0


def test_light_fouling_is_how_a_condenser_usually_is_and_excuses_no_current():
    """17 A through a 20 A AC-only switch that bears 16 A of motors (NEC 404.14), its condenser lightly fouled."""
    places = (component("switch-1", "power_switch", (), 20.0, "ac_only"),)
    light = (done("condenser_clean", LATER, "done", "light"),)
    read = reading("current", 17.0, "current", component="switch-1")

    found = score(views.OVERLOAD, "power_switch", read, components=places, performed=light)
    assert found == pytest.approx((17 / 16 - 1.0) / 0.15)


def test_without_a_reading_the_plates_of_what_it_feeds_are_added_up():
    places = (
        component("switch-1", "power_switch", ("pump-1", "compressor-1"), 20.0, "ac_only"),
        component("pump-1", "pump", (), 6.0),
        component("compressor-1", "compressor", (), 11.0),
    )

    assert score(views.OVERLOAD, "power_switch", components=places) == pytest.approx((17 / 16 - 1.0) / 0.15)
    assert score(views.OVERLOAD, "power_switch", components=places[:2]) == 0.0  # nobody knows the rest


def test_a_strainer_blocks_from_180_to_360_days_where_it_was_ever_looked_after():
    cleaned = (done("strainer_clean", START, "done", "light"), done("strainer_clean", LATER, "done", "light"))
    history = FailureHistory("GU-1", START, START + timedelta(days=1000), performed=cleaned)
    track = views.STRAINER.track(history, "pump")

    assert [at(track, LATER.toordinal() + days) for days in (170, 270, 400)] == pytest.approx([0.0, 0.5, 1.0])
    assert views.STRAINER.track(FailureHistory("GU-1", START, LATER), "pump") == ()


def test_after_a_repair_is_after_another_part_and_a_bad_part_after_its_like():
    pump = PartReplaced("pump-1", "pump", LATER, "failed", "seized", "seen", "us", "v1")
    history = FailureHistory("GU-1", START, START + timedelta(days=1000), replaced=(pump,))

    def present(view, kind, days):
        return at(view.track(history, kind), LATER.toordinal() + days)

    kinds = ("power_switch", "pump")
    assert [present(views.REPAIRED, kind, 20) for kind in kinds] == [1.0, 0.0]
    assert [present(views.NEW_PART, kind, 20) for kind in kinds] == [0.0, 1.0]
    assert (present(views.REPAIRED, "power_switch", 40), present(views.NEW_PART, "pump", 70)) == (0.0, 0.0)
