"""How far a unit was exposed to a cause, between what was left and what was found."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes import exposure
from service.domain.root_causes.exposure import area, at
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.views import HOT_TERMINAL, LOOSE
from tests.simulation.values import component, done, taken

START = date(2023, 1, 1)
TRACK = ((0, 0.0, 0.0), (10, 1.0, 0.0), (20, 0.5, 0.5))


def day(number):
    return START + timedelta(days=number)


def cleaned(*grades):
    tasks = tuple(done("condenser_clean", day(number), "done", found) for number, found in grades)
    history = FailureHistory("GU-1", START, day(1000), performed=tasks)
    return exposure.since_cleaning(history, ("condenser_clean",), none=90, full=180)


def score(track, number):
    return at(track, day(number).toordinal())


def test_a_track_runs_from_as_left_to_as_found():
    assert (at(TRACK, 5), at(TRACK, 10), at(TRACK, 15), at(TRACK, 99)) == (0.5, 1.0, 0.25, 0.5)


def test_its_area_is_that_of_the_lines():
    assert area(TRACK, 0, 20) == pytest.approx(5.0 + 2.5)
    assert area(TRACK, 10, 30) == pytest.approx(2.5 + 5.0)


def test_a_condenser_fouls_from_90_to_180_days():
    assert [score(cleaned(), n) for n in (90, 135, 180, 400)] == pytest.approx([0.0, 0.5, 1.0, 1.0])


def test_a_condenser_found_clean_after_a_long_time_had_not_fouled():
    track = cleaned((200, "clean"))

    assert score(track, 199) == pytest.approx(0.0)
    assert score(track, 201) == pytest.approx(0.0)


def test_a_condenser_found_blocked_early_had_fouled_on_the_way():
    track = cleaned((60, "blocked"))

    assert score(track, 30) == pytest.approx(0.5)
    assert score(track, 61) == pytest.approx(0.0)


def test_two_cleanings_on_a_day_keep_the_find_of_either():
    tasks = tuple(
        done(task, day(200), "done", found)
        for task, found in (("condenser_clean", "clean"), ("condenser_deep_clean", None))
    )
    history = FailureHistory("GU-1", START, day(1000), performed=tasks)
    track = exposure.since_cleaning(history, ("condenser_clean", "condenser_deep_clean"), none=90, full=180)

    assert score(track, 199) == pytest.approx(0.0)


def test_a_reading_at_another_switch_says_nothing_of_this_kind():
    readings = tuple(
        taken("contact_voltage_drop", code, value, "voltage", day(10))
        for code, value in (("switch-1", 0.5), ("contactor-1", 0.05))
    )
    places = (component("switch-1", "power_switch"), component("contactor-1", "contactor"))
    history = FailureHistory("GU-1", START, day(1000), places, readings=readings)

    assert score(LOOSE.track(history, "power_switch"), 20) == pytest.approx(1.0)
    assert score(LOOSE.track(history, "contactor"), 20) == pytest.approx(0.0)


BURNT = PartReplaced("switch-1", "power_switch", day(10), "failed", "burnt", "seen", "us", "v1")


@pytest.mark.parametrize(
    ("replaced", "as_found", "counts"),
    [
        (BURNT, True, False),
        (BURNT, False, True),  # the new one is as bad
        (replace(BURNT, reason="precaution", condition="good"), True, True),
    ],
)
@pytest.mark.parametrize(
    ("view", "reading"),
    [
        (LOOSE, ("contact_voltage_drop", 0.03, 0.5, "voltage")),
        (HOT_TERMINAL, ("terminal_temperature", 313.0, 358.0, "temperature")),
    ],
)
def test_the_drop_across_a_burnt_contact_and_its_heat_are_what_came_of_it(view, reading, replaced, as_found, counts):
    quantity, good, bad, dimension = reading
    before = taken(quantity, "switch-1", good, dimension, day(1))
    read = taken(quantity, "switch-1", bad, dimension, day(10), as_found=as_found)
    history = FailureHistory(
        "GU-1",
        START,
        day(1000),
        (component("switch-1", "power_switch"),),
        replaced=(replaced,),
        readings=(before, read),
    )

    assert (score(view.track(history, "power_switch"), 20) > 0.5) == counts


def test_a_terminal_that_was_read_when_it_burnt_alone_is_taken_as_it_was_found():
    """Nothing says how it was while the part was sound; common practice, no source."""
    read = taken("terminal_temperature", "switch-1", 358.0, "temperature", day(10))
    history = FailureHistory(
        "GU-1", START, day(1000), (component("switch-1", "power_switch"),), replaced=(BURNT,), readings=(read,)
    )

    assert score(HOT_TERMINAL.track(history, "power_switch"), 10) > 0.5


def test_a_condenser_found_worse_than_its_days_say_had_fouled_from_the_first_day():
    """Blocked after 120 days, of which the rule of 90 to 180 days gives a third: half way it was half blocked."""
    assert score(cleaned((120, "blocked")), 60) == pytest.approx(0.5)


def test_what_was_left_alone_is_never_taken_for_what_was_found():
    """Brought back to strength at one visit and weak again at the next: between them it fell, it was not strong."""
    found, left, later = (
        taken("glycol_strength", None, 0.3, "mass_fraction", on, as_found=found)
        for on, found in ((day(10), True), (day(10), False), (day(30), True))
    )
    track = exposure.of_readings([(found, 1.0), (left, 0.0), (later, 1.0)])

    assert [score(track, n) for n in (0, 10, 20, 30)] == pytest.approx([1.0, 1.0, 0.5, 1.0])


def test_windows_that_overlap_are_one():
    track = exposure.windows([0, 20], 30)

    assert [at(track, n) for n in (0, 1, 20, 45, 50, 51)] == [0.0, 1.0, 1.0, 1.0, 1.0, 0.0]
    assert area(track, 0, 100) == pytest.approx(50.0)


def test_one_new_part_of_two_is_half_of_the_positions():
    one = exposure.windows_of_positions([(0, "switch-1"), (20, "switch-1")], 30, positions=2)
    both = exposure.windows_of_positions([(0, "switch-1"), (20, "switch-2"), (100, "switch-1")], 30, positions=2)

    assert area(one, 0, 200) == pytest.approx(0.5 * 50)
    assert [at(both, n) for n in (1, 49, 50, 51, 101)] == [1.0, 1.0, 1.0, 0.0, 0.5]
