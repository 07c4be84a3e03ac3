"""Visits as a technician takes them: few readings, two thermometers, nameplates for what was not clamped.

Expected conclusions: common practice, no source, where no other is named.
"""

import pytest

from service.domain.assessment.assess import assess
from tests.domain.assessment.conftest import unit, visit
from tests.domain.assessment.test_measured import RUNNING, UNIT

FED = {
    "components": [
        {
            "code": "switch-1",
            "kind": "power_switch",
            "feeds": ["comp-1", "fan-1"],
            "rated_current": "13 A",
            "rating": "motor",
        },
        {"code": "comp-1", "kind": "compressor", "rated_current": "9.8 A"},
        {"code": "fan-1", "kind": "condenser_fan", "rated_current": "1 A"},
    ]
}


# A bath that falls is cooled: that the compressor runs is known without its current. Physics.
@pytest.mark.parametrize("more", [(), ("suction_pressure 30 psi @20", "discharge_pressure 150 psi @20")])
def test_a_warm_bath_that_falls_slowly_under_its_load_is_no_fault(more: tuple[str, ...]) -> None:
    lines = ("bath_temperature 70 degF @0", "bath_temperature 62.5 degF @20", *more)
    codes = {each.code: each for each in assess(visit(*lines), unit(**UNIT), "us").findings}

    assert codes["pull_down_loaded"].severity == codes["bath_warm"].severity == "note"


# Two probes in one stirred bath at once: 27 and 32 °F are no two temperatures of it (thermocouples ASTM E230, 1.1 °C).
@pytest.mark.parametrize(
    ("one", "other", "doubted"), [(27, 32, True), (30, 50, True), (29, 31, False), (31, 29, False)]
)
def test_a_bath_read_twice_at_once_tells_of_the_thermometers_first(one: int, other: int, doubted: bool) -> None:
    lines = (f"bath_temperature {one} degF @5", f"bath_temperature {other} degF @5")
    found = assess(visit(*lines), unit(**UNIT), "us")
    codes = {each.code: each for each in found.findings}

    assert ("readings_contradict" in codes) is doubted
    assert "ice water" in codes["readings_contradict"].advice if doubted else "bath_in_band" in codes
    assert not doubted or not codes.keys() & {"bath_in_band", "bath_near_band", "bath_warm"}
    assert not doubted or found.operating_state.state == "unknown"


def test_a_bath_read_twice_some_minutes_apart_has_moved() -> None:
    codes = {
        each.code
        for each in assess(
            visit("bath_temperature 32 degF @5", "bath_temperature 27 degF @15"), unit(**UNIT), "us"
        ).findings
    }

    assert "readings_contradict" not in codes


def test_what_a_switch_would_carry_by_nameplates_comes_after_what_was_read() -> None:
    lines = ("bath_temperature 36 degF", *RUNNING)
    found = assess(visit(*lines), unit(**UNIT | FED), "us")

    assert "switch-1 would carry 10.8 A" in next(
        each.sentence for each in found.findings if each.code == "switch_near_rating"
    )
    assert not found.first[0].startswith("switch-1")


def test_a_fan_that_stands_comes_before_the_switch_that_its_compressor_overloads() -> None:
    lines = ("current[comp-1] 12.6 A", "current[fan-1] 0 A", "ambient_temperature 90 degF", "bath_temperature 44 degF")
    found = assess(visit(*lines), unit(**UNIT | FED), "us")

    assert "switch_over_rating" in {each.code for each in found.findings if each.severity == "act"}
    assert "switch the compressor off now" in found.first[0]


# A pressure and a line of different moments give no superheat (the unit may have cycled between them).
@pytest.mark.parametrize(("minutes", "judged"), [(5, True), (10, True), (11, False), (40, False)])
def test_a_pressure_and_its_line_read_far_apart_are_not_put_together(minutes: int, judged: bool) -> None:
    low = ("suction_pressure 16 psi @0", f"suction_line_temperature 27.3 degF @{minutes}")
    high = ("discharge_pressure 131 psi @0", f"liquid_line_temperature 94.2 degF @{minutes}")
    found = assess(visit(*low, *high, "bath_temperature 29 degF", "ambient_temperature 85 degF"), unit(**UNIT), "us")

    assert ({"superheat_good", "subcooling_good"} <= {each.code for each in found.findings}) is judged
    named = [each.figures["of"] for each in found.findings if each.code == "readings_apart"]
    assert named == ([] if judged else ["superheat", "subcooling"])


# A burnt switch replaced like for like carries the same nameplates: the record has the rating of its position.
@pytest.mark.parametrize("by", ["us", "others"])
def test_a_new_switch_of_the_same_rating_does_not_settle_what_it_would_carry(by: str) -> None:
    known = {"components": [FED["components"][0] | {"rated_current": "10 A"}, *FED["components"][1:]]}
    burnt = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen", "by": by}
    burnt |= {} if by == "us" else {"on": "2026-05-02", "evidence": "reported"}
    assessed = assess(visit("bath_temperature 29 degF found", replacements=[burnt]), unit(**UNIT | known), "us")
    found = next(each for each in assessed.findings if each.code == "switch_over_rating")

    assert found.severity == "act"
    assert found.advice is not None
    assert found.advice.startswith("A new one of the same rating is no remedy") is (by == "us")
    assert "read it again" not in " ".join(assessed.first)


# A part burns of a current, a joint or a voltage: that these were not read is not that all is in order.
@pytest.mark.parametrize(("condition", "asked"), [("burnt", True), ("worn", False)])
@pytest.mark.parametrize("lines", [("supply_voltage 116 V found",), ()])
def test_what_burnt_without_a_reason_that_was_read_is_not_everything_in_order(
    condition: str, asked: bool, lines: tuple[str, ...]
) -> None:
    part = {"component": "switch-1", "reason": "failed", "condition": condition, "evidence": "seen"}
    ample = [FED["components"][0] | {"rated_current": "30 A"}, *FED["components"][1:]]
    known = UNIT | {"components": ample, "supply": {"voltage": "115 V"}}
    found = assess(visit(*lines, replacements=[part]), unit(**known), "us")
    why = [each for each in found.first if each.startswith("Nothing that was read shows why switch-1 burnt; ")]

    assert bool(why) is asked
    assert len(found.first) == (1 if asked or lines else 0)
