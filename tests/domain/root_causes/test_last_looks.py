"""What was looked at after the last failure, and what kept work from being done, in the sentences of a root cause.

What is expected: common practice, no source.
"""

from datetime import date, timedelta

import pytest

from service.domain.plain import to_plain
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.unit_log import Performed
from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.explanation import in_words
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.wording import NO_RATING, OVER, WORDS
from tests.simulation.values import component, done, taken

START, LAST, END = date(2023, 1, 1), date(2025, 1, 20), date(2025, 12, 31)
FAILED = (date(2024, 3, 1), date(2024, 6, 20), date(2024, 10, 2), LAST)

MANY = tuple(LAST - timedelta(days=100 * n) for n in range(7))
CLEAN = tuple(done("condenser_clean", START + timedelta(days=n), "done", "clean") for n in range(30, 1090, 30))


def worded(history):
    (found,) = root_causes_of(history, defaults(), END)
    return in_words(to_plain(found))


def failing(kind, condition, days=FAILED, **shown):
    parts = tuple(PartReplaced("one", kind, day, "failed", condition, "seen", "us", str(day)) for day in days)
    components = shown.pop("components", (component("one", kind),))
    return FailureHistory("GU-1", START, END, components, replaced=parts, supply_voltage=115.0, **shown)


@pytest.mark.parametrize(("volts", "gone"), [(None, True), (101.0, False), (115.0, True)])
def test_what_was_read_as_wrong_after_the_last_failure_is_not_gone_however_quiet_it_is(volts, gone):
    days = [START + timedelta(days=90 * n) for n in range(8)]
    read = [taken("supply_voltage", None, 101.0, "voltage", day) for day in days]
    read += [taken("supply_voltage", None, volts, "voltage", date(2025, 9, 1))] if volts else []
    root_cause = worded(failing("compressor", "open_circuit", readings=tuple(read)))

    assert root_cause["quiet"]["still_at_work"] < 0.5
    assert root_cause["remedy"] == (OVER if gone else WORDS["low_voltage"]).remedy
    assert ("the cause may be gone" in root_cause["explanation"]) is gone
    assert ("but it was still so on 2025-09-01" in root_cause["explanation"]) is not gone


@pytest.mark.parametrize(("found", "gone"), [("light", True), ("heavy", False), ("blocked", False)])
def test_a_condenser_that_was_found_fouled_after_the_last_failure_is_not_over(found, gone):
    cleaned = (
        done("condenser_clean", START + timedelta(days=1), "done", "light"),
        done("condenser_clean", LAST, "done", "blocked"),
        done("condenser_clean", date(2025, 8, 1), "done", found),
    )
    root_cause = worded(failing("compressor", "open_circuit", performed=cleaned))

    assert root_cause["causes"][0]["cause"] == "condenser_fouled"
    assert (root_cause["remedy"] == OVER.remedy) is gone


def test_a_rating_that_is_overrun_is_so_until_it_is_changed_and_its_sum_is_said():
    """5.8, 6.9 and 0.8 A of nameplates are 13.5 A."""
    loads = [component("pump-1", "pump", (), 5.8), component("comp-1", "compressor", (), 6.9)]
    loads += [component("fan-1", "condenser_fan", (), 0.8)]
    switch = component("one", "power_switch", ("pump-1", "comp-1", "fan-1"), 10.0)
    root_cause = worded(failing("power_switch", "burnt", components=(switch, *loads)))

    assert "Rated: one 10 A; loads of one 13.5 A by their nameplates." in root_cause["explanation"]
    assert "the current was not read" in root_cause["explanation"]
    assert "but by what is on record of the switch it is still so" in root_cause["explanation"]
    assert root_cause["remedy"] == WORDS["switch_undersized"].remedy


def test_of_a_switch_without_a_plate_its_loads_are_said_and_no_rating_of_its_own():
    loads = (component("pump-1", "pump", (), 5.8), component("comp-1", "compressor", (), 6.9))
    switch = component("one", "power_switch", ("pump-1", "comp-1"))
    root_cause = worded(failing("power_switch", "burnt", MANY, components=(switch, *loads), performed=CLEAN))

    assert root_cause["causes"][0]["cause"] == "switch_undersized"
    assert "Rated: loads of one 12.7 A by their nameplates." in root_cause["explanation"]
    assert NO_RATING.sentence in root_cause["explanation"]


def test_a_rating_that_nobody_recorded_is_not_said_to_be_so_still():
    switch = (component("one", "power_switch"),)
    root_cause = worded(failing("power_switch", "burnt", MANY, components=switch, performed=CLEAN))

    assert root_cause["causes"][0]["cause"] == "switch_undersized"
    assert "still so" not in root_cause["explanation"]
    assert root_cause["remedy"] == OVER.remedy


def test_work_that_was_kept_from_being_done_is_said_with_its_reason():
    kept = [Performed("condenser_clean", day, "not_done", None, "no access.") for day in (FAILED[0], FAILED[2])]
    cleaned = done("condenser_clean", START + timedelta(days=60), "done", "blocked")
    before = Performed("condenser_clean", START + timedelta(days=2), "not_done", None, "rain")
    root_cause = worded(failing("compressor", "open_circuit", performed=(before, cleaned, *kept)))

    assert "Not done at 2 visits before that, last on 2024-10-02: no access." in root_cause["explanation"]
    assert "rain" not in root_cause["explanation"]


def test_with_another_possible_cause_little_is_expected_only_with_both_removed():
    facts = to_plain(root_causes_of(failing("compressor", "open_circuit"), defaults(), END)[0])
    one, two = ([{"cause": c, "probability": p} for c, p in shares] for shares in (
        [("condenser_fouled", 0.9), ("low_voltage", 0.05)], [("condenser_fouled", 0.7), ("low_voltage", 0.25)]
    ))  # fmt: skip

    assert "With this cause removed, expect" in in_words(facts | {"causes": one})["explanation"]
    assert "With these causes removed, expect" in in_words(facts | {"causes": two})["explanation"]
