"""Conclusions that were once wrong. Expected conclusions: common practice, no source, where no
other is named; pressures and temperatures of sound and faulty units from a steady cycle calculated with CoolProp 8."""

from dataclasses import replace
from typing import Any

import pytest

from service.domain.assessment.assess import assess
from tests.domain.assessment.conftest import unit, visit

MOTORS: list[dict[str, Any]] = [
    {"code": "comp-1", "kind": "compressor", "rated_current": "9.8 A"},
    {"code": "fan-1", "kind": "condenser_fan", "rated_current": "1 A"},
    {"code": "pump-1", "kind": "pump", "rated_current": "5.8 A"},
    {"code": "switch-1", "kind": "power_switch", "feeds": ["comp-1", "pump-1"]},
    {"code": "stat-1", "kind": "temperature_controller"},
]
BATH = {"volume": "10 gal", "glycol": "propylene", "target_strength": "35 mass%", "set_point": "28 degF",
        "differential": "4 deltaF"}  # fmt: skip
CIRCUIT = {"refrigerant": "R-134a", "metering": "capillary", "clean_split": "18 deltaF",
           "rated_cooling": "2900 Btu/h", "rated_ambient": "90 degF", "rated_bath": "28 degF"}  # fmt: skip
UNIT = {"bath": BATH, "refrigeration": CIRCUIT, "components": MOTORS, "supply": {"voltage": "115 V", "phases": 1}}
URGENT = ("act", "stop")


def urgent(found: Any) -> set[str]:
    return {finding.code for finding in found.findings if finding.severity in URGENT}


def assessed(*readings: str, elevation: float | None = None, **more: Any) -> Any:
    return assess(visit(*readings, **more), unit(**UNIT), "us", elevation)


# Dilution.
@pytest.mark.parametrize("suction", ["3 psi", "1 psi"])
@pytest.mark.parametrize("strength", ["37 mass%", "35 mass%"])
def test_a_coil_that_is_too_cold_is_never_answered_with_water(suction: str, strength: str) -> None:
    found = assessed(f"glycol_strength {strength}", f"suction_pressure {suction}", "discharge_pressure 100 psi",
                     "bath_temperature 28 degF", "current[comp-1] 8 A")  # fmt: skip
    ice = [each for each in found.findings if each.code in ("coil_can_freeze", "freeze_margin_small")]

    assert ice
    assert all("water" not in (each.advice or "") for each in ice)
    assert all((each.advice or "").startswith("Do not dilute") for each in ice)


# A unit at rest: both gauges show the pressure of the bath, 25 psi for R-134a at 29 °F (CoolProp 8).
@pytest.mark.parametrize("air", [40, 75, 105])
def test_a_unit_at_rest_gets_no_figures_of_a_running_one(air: int) -> None:
    found = assessed("suction_pressure 25.3 psi", "discharge_pressure 25.5 psi", f"suction_line_temperature {air} degF",
                     f"liquid_line_temperature {air} degF", f"condenser_air_in_temperature {air} degF",
                     f"condenser_air_out_temperature {air} degF", "bath_temperature 29 degF",
                     "current[comp-1] 0 A", "current[pump-1] 4 A")  # fmt: skip
    codes = {each.code for each in found.findings}

    assert found.operating_state.state == "satisfied"
    assert not codes & {"superheat_none", "superheat_high", "subcooling_low", "condenser_split_low", "air_rise_none"}
    assert not urgent(found)


@pytest.mark.parametrize(("first", "last"), [(30, 32.5), (31.9, 32.3), (32.1, 32.2)])
def test_a_bath_inside_its_band_at_rest_is_not_called_not_cooling(first: float, last: float) -> None:
    found = assessed(f"bath_temperature {first} degF @0", f"bath_temperature {last} degF @12", "current[comp-1] 0 A",
                     "current[pump-1] 4 A")  # fmt: skip

    assert not urgent(found)


@pytest.mark.parametrize("air", [20, 5])
def test_a_bath_cooled_by_winter_air_without_power_is_no_refrigeration_that_does_not_stop(air: int) -> None:
    found = assessed("bath_temperature 22 degF", f"ambient_temperature {air} degF", "supply_voltage 0 V",
                     "current[comp-1] 0 A")  # fmt: skip

    assert "bath_colder_than_set" not in urgent(found)


# A clean condenser rejects 1.4 times the heat with a bath of 75 °F, so that its split grows from 18 to some 27 °F;
# head-pressure control holds 90 °F.
@pytest.mark.parametrize(
    ("head", "air", "bath"), [("155 psi", 85, 75), ("157 psi", 85, 80), ("104 psi", 20, 29), ("110 psi", 35, 30)]
)
def test_a_clean_condenser_is_not_called_dirty_after_a_warm_start_or_in_cold_air(
    head: str, air: int, bath: int
) -> None:
    found = assessed(f"discharge_pressure {head}", f"condenser_air_in_temperature {air} degF",
                     f"bath_temperature {bath} degF", "current[comp-1] 8 A")  # fmt: skip

    assert "condenser_split_high" not in {each.code for each in found.findings}


# Figures of one moment.
def test_a_pressure_as_left_and_a_line_as_found_give_no_superheat() -> None:
    found = assessed("suction_pressure 9 psi", "suction_line_temperature 24 degF found", "current[comp-1] 8 A")

    assert not any(each.code.startswith("superheat") for each in found.findings)


# What was found stays found: 10.1 A on a compressor of 5.9 A.
@pytest.mark.parametrize("left", [[], ["current[comp-1] 0 A"], ["current[comp-1] 5 A"]])
def test_an_overload_as_found_stays_reported_whatever_was_left(left: list[str]) -> None:
    parts = [{"code": "comp-1", "kind": "compressor", "rated_current": "5.9 A"}]
    found = assess(visit("current[comp-1] 10.1 A found", *left), unit(components=parts), "us")
    (over,) = [each for each in found.findings if each.code == "current_over_rating"]

    assert (over.severity, over.moment) == ("act", "as_found")
    assert over.sentence.startswith("comp-1 draws 10.1 A as found")


# Voltages.
def test_voltage_across_an_open_switch_shows_that_it_is_open() -> None:
    found = assessed("voltage_across[switch-1] 117 V")

    assert "power_stops_here" in urgent(found)


def test_voltage_before_a_switch_and_none_behind_it_is_the_switch_and_not_the_supply() -> None:
    found = assessed("voltage_before[switch-1] 117 V", "voltage_behind[switch-1] 0 V")

    assert urgent(found) == {"power_stops_here"}
    assert "switch-1" in found.first[0]
    both = assessed("supply_voltage 117 V", "supply_voltage 0 V")
    assert "voltage_none" not in {each.code for each in both.findings}


@pytest.mark.parametrize("reading", ["voltage_at[stat-1] 117 V", "supply_voltage 117 V"])
def test_voltage_at_a_dark_controller_is_a_danger_and_comes_first(reading: str) -> None:
    found = assessed(reading, "bath_temperature 60 degF", observations=[{"code": "display_dark"}])

    assert found.findings[0].code == "voltage_at_dead_controller"
    assert found.findings[0].severity == "stop"


# The controller is dark, power into the switch and none out of it: the switch. Common practice, no source.
def test_a_dark_display_behind_an_open_switch_is_explained_by_the_switch() -> None:
    switch = ("voltage_before[switch-1] 117 V", "voltage_behind[switch-1] 0 V")
    found = assessed(*switch, observations=[{"code": "display_dark"}])
    (dark,) = [each for each in found.findings if each.code == "display_dark"]

    assert urgent(found) == {"power_stops_here"}
    assert (dark.severity, dark.advice) == ("note", None)
    assert dark.sentence == "The controller's display is dark: the power stops before it, at switch-1."
    alone = assessed(
        "voltage_before[switch-1] 117 V", "voltage_behind[switch-1] 117 V", observations=[{"code": "display_dark"}]
    )
    assert "display_dark" in urgent(alone)


# Severity follows danger and certainty.
@pytest.mark.parametrize(("amperes", "over"), [(9.83, False), (10.0, False), (11.0, True)])
def test_what_a_clamp_meter_cannot_tell_is_too_close_to_tell(amperes: float, over: bool) -> None:
    found = assessed(f"current[comp-1] {amperes} A")

    assert ("current_over_rating" in urgent(found)) is over
    if not over:
        assert any("too close" in each.sentence for each in found.findings)


def test_a_switch_a_third_of_a_percent_over_is_no_stop() -> None:
    parts = [{"code": "switch-1", "kind": "power_switch", "feeds": ["pump-1"], "rated_current": "10 A",
              "rating": "ac_only"}, MOTORS[2]]  # fmt: skip
    found = assess(visit("current[pump-1] 8.03 A"), unit(components=parts), "us")

    assert not any(each.severity == "stop" for each in found.findings)


# ANSI/NETA Table 100.18: over 40 °C above the ambient is major, repair immediately; 85 °F are 47 °C.
def test_a_terminal_85_degrees_over_the_air_with_scorched_controls_is_a_stop() -> None:
    found = assessed("terminal_temperature[switch-1] 165 degF", "ambient_temperature 80 degF",
                     observations=[{"code": "controls_scorched"}])  # fmt: skip

    assert found.findings[0].code == "terminal_hot"
    assert found.findings[0].severity == "stop"


# False "fine"s.
@pytest.mark.parametrize(
    "readings",
    [
        ["discharge_pressure 85 psi", "condenser_air_in_temperature 77 degF", "current[comp-1] 8 A"],
        ["condenser_air_in_temperature 80 degF", "condenser_air_out_temperature 84 degF", "current[comp-1] 8 A"],
        ["bath_temperature 34 degF"],
        ["bath_temperature 27 degF"],
        ["beer_temperature_at_tap[1] 25 degF"],
        ["cooler_temperature 25 degF"],
    ],
)
def test_what_is_not_in_order_is_not_called_fine(readings: list[str]) -> None:
    known = {**UNIT, "bath": {}}
    found = assess(visit(*readings), unit(**known), "us")
    fine = {each.code for each in found.findings if each.severity == "fine"}

    assert not fine - {"saturation", "currents_good", "pull_down_recovering"}


# Standard atmosphere: 12.10 psi at 5 280 ft, so a gauge shows 2.6 psi more for the same temperature.
def test_the_sites_elevation_counts_and_sea_level_is_named_where_it_is_assumed() -> None:
    readings = ("suction_pressure 20.3 psi", "suction_line_temperature 25.7 degF", "discharge_pressure 142.7 psi")
    high = assessed(*readings, elevation=7000 * 0.3048)
    assumed = assessed(*readings)
    superheat = {each.code: each.figures for each in high.findings if each.code.startswith("superheat")}

    ((_, figures),) = superheat.items()
    assert figures["superheat"].value * 1.8 == pytest.approx(8.0, abs=0.5)
    assert "sea level (assumed" in next(each.sentence for each in assumed.findings if each.code == "saturation")


# The evidence and its conclusion.
def test_a_fan_without_current_under_a_high_split_is_a_stopped_fan_and_no_dirt() -> None:
    found = assessed("discharge_pressure 240 psi", "condenser_air_in_temperature 85 degF", "current[fan-1] 0 A",
                     "current[comp-1] 9 A")  # fmt: skip

    assert "fan_stands" in urgent(found)
    assert not any("Clean the condenser" in (each.advice or "") for each in found.findings)


@pytest.mark.parametrize("bath", [45, 70])
def test_a_compressor_without_current_under_a_warm_bath_has_to_be_acted_on(bath: int) -> None:
    found = assessed("current[comp-1] 0 A", "current[pump-1] 4 A", f"bath_temperature {bath} degF")

    assert "compressor_stands" in urgent(found)


# Subcooling 27, superheat 3: too much refrigerant (signs: Braun and Li, table 1-1).
def test_much_subcooling_with_little_superheat_fits_an_overcharge() -> None:
    found = assessed("suction_pressure 18 psi", "suction_line_temperature 22.3 degF", "discharge_pressure 140 psi",
                     "liquid_line_temperature 80 degF", "current[comp-1] 8 A")  # fmt: skip

    assert "overcharge_fits" in urgent(found)


def test_the_load_of_a_hot_day_is_set_against_the_capacity() -> None:
    found = assessed("ambient_temperature 106 degF", "bath_temperature 36 degF", "glycol_flow 100 gal/h",
                     "glycol_supply_temperature 36 degF", "glycol_return_temperature 41 degF")  # fmt: skip
    (over,) = [each for each in found.findings if each.code == "load_over_capacity"]

    assert over.figures["load"].value == pytest.approx(5.0 * 100.0 * 461.7 / 60.0 / 3.412, rel=0.03)
    assert over.figures["capacity_today"].value < 850.0


# Contradictions.
def test_readings_that_cannot_all_be_true_are_noticed() -> None:
    codes = {each.code for each in assessed("bath_temperature 82 degF", "glycol_supply_temperature 28 degF").findings}
    assert codes >= {"readings_contradict"}
    assert "bath_warm" not in codes
    off = assessed("bath_temperature 34 degF", "glycol_supply_temperature 28.5 degF")
    assert "readings_contradict" in {each.code for each in off.findings}
    times = assessed("bath_temperature 60 degF @30 found", "bath_temperature 40 degF @10")
    assert "times_contradict" in {each.code for each in times.findings}


@pytest.mark.parametrize("reading", ["bath_temperature -2 degF", "beer_temperature_at_tap[1] 3 degF"])
def test_celsius_entered_as_fahrenheit_is_noticed_and_not_used(reading: str) -> None:
    found = assessed(reading)

    assert {each.code for each in found.findings} == {"unit_doubtful"}


# common practice, no source: 24 °C, 35 °C and 4 °C typed as °F fit nothing else that was read, and do in °C
@pytest.mark.parametrize(
    ("wrong", "others"),
    [
        ("ambient_temperature 24 degF", ["condenser_air_in_temperature 77 degF"]),
        ("condenser_air_in_temperature 26 degF", ["ambient_temperature 75 degF"]),
        ("liquid_line_temperature 35 degF", ["condenser_air_in_temperature 85 degF"]),
        ("condenser_air_out_temperature 38 degF", ["ambient_temperature 85 degF"]),
        ("suction_line_temperature 0 degF", ["bath_temperature 30 degF"]),
    ],
)
def test_celsius_entered_as_fahrenheit_is_noticed_beside_the_other_readings(wrong: str, others: list[str]) -> None:
    named = {each.code: each for each in assessed(wrong, *others).findings}

    assert named["unit_doubtful"].severity == "act"
    assert wrong.split()[1] in named["unit_doubtful"].sentence


@pytest.mark.parametrize(
    "lines",
    [
        ("ambient_temperature 24 degF", "condenser_air_in_temperature 28 degF"),  # a roof in winter
        ("ambient_temperature 70 degF", "condenser_air_in_temperature 98 degF"),  # its own warm air
        ("suction_line_temperature 12 degF", "bath_temperature 29 degF"),  # flooded
        ("liquid_line_temperature 24 degC", "condenser_air_in_temperature 85 degF"),
    ],
)
def test_temperatures_that_can_be_true_are_no_wrong_unit(lines: tuple[str, ...]) -> None:
    assert "unit_doubtful" not in {each.code for each in assessed(*lines).findings}


def test_a_bath_and_a_supply_far_apart_that_agree_in_celsius_are_named_so() -> None:
    found = {
        each.code: each for each in assessed("bath_temperature 82 degF", "glycol_supply_temperature 28 degF").findings
    }

    assert "28 degF would agree if it was read in °C" in found["readings_contradict"].sentence


# Certainty.
def test_a_strength_within_the_refractometers_error_of_a_limit_is_too_close_to_tell() -> None:
    found = assessed("glycol_strength 24.6 mass%")
    (weak,) = [each for each in found.findings if each.code == "glycol_weak"]

    assert weak.severity == "note"
    assert "too close" in weak.sentence


def test_nobody_is_asked_to_turn_a_hermetic_compressor_by_hand() -> None:
    found = assessed("current[comp-1] 58 A", "current[pump-1] 34 A")
    advice = {each.figures["component"]: each.advice for each in found.findings if each.code == "rotor_locked"}

    assert "cannot be turned by hand" in advice["comp-1"]
    assert "Turn it by hand with the power locked out" in advice["pump-1"]


# Load.
@pytest.mark.parametrize(("last", "minutes"), [(74, 20), (75, 20), (69, 25)])
def test_a_loaded_unit_is_not_called_slow(last: int, minutes: int) -> None:
    found = assessed("bath_temperature 80 degF @0", f"bath_temperature {last} degF @{minutes}", "current[comp-1] 8 A")

    assert "pull_down_slow" not in {each.code for each in found.findings}


# The answer's first sentences.
def test_the_answer_starts_with_at_most_three_sentences_worst_first() -> None:
    found = assessed("supply_voltage 208 V", "glycol_ph 6 pH", "cooler_temperature 50 degF", "bath_level 60 %",
                     "beer_temperature_at_tap[1] 55 degF")  # fmt: skip

    assert len(found.first) == 3
    assert found.first[0].startswith("The supply is at 208 V")
    assert all(sentence.count(". ") == 0 for sentence in found.first)


def test_where_all_is_in_order_the_answer_is_that() -> None:
    assert assessed("bath_temperature 30 degF").first == ("Everything that was measured is in order.",)


def test_every_finding_lists_the_figures_it_used() -> None:
    found = assessed("supply_voltage 118 V", "glycol_ph 9 pH", "cooler_temperature 36 degF", "bath_level 90 %",
                     "current[comp-1] 8 A", "contact_voltage_drop[switch-1] 30 mV", "bath_temperature 30 degF",
                     "ambient_temperature 85 degF",
                     observations=[{"code": "pump_noisy"}])  # fmt: skip

    assert all(each.figures for each in found.findings), [each.code for each in found.findings if not each.figures]


def test_a_small_fan_without_a_nameplate_runs_at_0_4_ampere():
    known = unit(components=[{"code": "comp-1", "kind": "compressor"}, {"code": "fan-1", "kind": "condenser_fan"}])

    found = {
        amperes: assess(visit("current[comp-1] 7 A", f"current[fan-1] {amperes} A"), known, "us").findings
        for amperes in ("0.4", "0.1")
    }

    assert "fan_stands" not in {each.code for each in found["0.4"]}
    assert "fan_stands" in {each.code for each in found["0.1"]}


def test_a_fan_that_stands_in_the_cold_air_of_the_visit_may_be_held_by_a_control():
    known = unit(
        components=[
            {"code": "comp-1", "kind": "compressor"},
            {"code": "fan-1", "kind": "condenser_fan", "rated_current": "1.4 A"},
        ]
    )
    cold = visit("ambient_temperature 50 degF")
    as_left = [replace(each, when="as_left") for each in visit("current[comp-1] 7 A", "current[fan-1] 0 A").readings]
    whole = replace(cold, readings=(*[replace(each, when="as_found") for each in cold.readings], *as_left))

    (fan,) = [each for each in assess(whole, known, "us").findings if each.code == "fan_stands"]

    assert fan.severity == "note"


# The air's rise separates dirt from what else holds the head up: a steady capillary model of another make, R-134a, bath
# 29 degF, air 85 degF; non-condensable gas of 1 bar, 30 % less air, and both much liquid and little air (judged).
@pytest.mark.parametrize(
    ("head", "liquid", "out", "says"),
    [
        ("148.6 psi", "94.8 degF", "96.2 degF", "dirt is not the likely cause"),
        ("160 psi", "111 degF", "107 degF", "Clean it soon"),
        ("250 psi", "118 degF", "125 degF", "Clean the condenser"),
    ],
)
def test_a_high_split_is_put_down_to_dirt_by_the_rise_of_its_air(head: str, liquid: str, out: str, says: str) -> None:
    lines = [f"discharge_pressure {head}", f"liquid_line_temperature {liquid}", f"condenser_air_out_temperature {out}"]
    found = assessed("bath_temperature 29 degF", "condenser_air_in_temperature 85 degF", *lines).findings
    split = next(each for each in found if each.code in ("condenser_split_high", "condenser_split_rising"))

    assert says in str(split.advice)


# common practice, no source: a control that holds the head up in cold air fills the condenser with liquid
def test_a_head_held_up_in_cold_air_is_no_overcharge() -> None:
    lines = ["condenser_air_in_temperature 20 degF", "discharge_pressure 72 psi", "liquid_line_temperature 45 degF"]
    found = {each.code: each for each in assessed("bath_temperature 29 degF", *lines).findings}

    assert "subcooling_high" not in found
    assert found["subcooling_good"].severity == "fine"


# common practice, no source: no control of the head stops a fan in air of 85 degF, however high the head
def test_a_fan_that_stands_in_warm_air_is_urgent_even_where_the_head_is_beyond_the_refrigerants_tables() -> None:
    amps = ["current[comp-1] 8 A", "current[fan-1] 0 A"]
    lines = ["condenser_air_in_temperature 85 degF", "discharge_pressure 300 psi", "bath_temperature 33 degF"]
    found = {each.code: each for each in assessed(*amps, *lines).findings}

    assert found["fan_stands"].severity == "act"
    assert str(found["fan_stands"].advice).startswith("Switch the compressor off now")


def test_a_dark_controller_whose_own_voltage_was_read_is_one_danger_and_not_two() -> None:
    found = assessed(
        "supply_voltage 119 V", "voltage_at[stat-1] 119 V", observations=[{"code": "display_dark"}]
    ).findings

    assert sum(each.code == "voltage_at_dead_controller" for each in found) == 1


# A steady capillary model of another make, clean split 18 degF: 11.2 degF where sound, 7.3 degF with 40 % of the flow
# area gone. What is little: common practice, no source.
@pytest.mark.parametrize(
    ("out", "code"), [("97 degF", "air_rise_good"), ("93 degF", "air_rise_unclear"), ("90 degF", "air_rise_low")]
)
def test_an_air_rise_of_8_degrees_is_not_good(out: str, code: str) -> None:
    lines = ["condenser_air_in_temperature 85 degF", f"condenser_air_out_temperature {out}", "current[comp-1] 7 A"]

    assert code in {each.code for each in assessed(*lines).findings}


# A warm bath: what is to be checked is never what the visit already read or worked on. Common practice, no source.
RUNNING = ("suction_pressure 12 psi", "discharge_pressure 150 psi", "condenser_air_in_temperature 85 degF")
CLEANING = [{"task": "condenser_clean", "result": "done", "as_found": "blocked"}]


def warm_bath(*readings: str, **more: Any) -> Any:
    found = {each.code: each for each in assessed("bath_temperature 46 degF", *readings, **more).findings}
    return found["bath_warm"]


def test_a_condenser_cleaned_in_the_visit_is_not_to_be_looked_at_again() -> None:
    before, after = warm_bath(), warm_bath(tasks=CLEANING)

    assert "condenser is clean" in before.advice
    assert "condenser is clean" not in after.advice
    assert "nothing blocks the condenser's air" in after.advice


@pytest.mark.parametrize("readings", [RUNNING, ("current[comp-1] 8 A",)])
def test_a_unit_that_runs_is_not_asked_whether_its_compressor_runs(readings: tuple[str, ...]) -> None:
    assert "compressor" in warm_bath().advice
    assert "compressor" not in warm_bath(*readings).advice


def test_a_compressor_that_stands_comes_before_all_else_of_a_warm_bath() -> None:
    advice = warm_bath("current[comp-1] 0 A", "voltage_at[comp-1] 117 V").advice

    assert advice == "First see why its compressor does not run."


def test_a_compressor_that_draws_current_between_equal_pressures_was_not_at_rest() -> None:
    found = assessed("bath_temperature 62 degF", "suction_pressure 57 psi", "discharge_pressure 58 psi",
                     "condenser_air_in_temperature 75 degF", "current[comp-1] 6 A")  # fmt: skip
    codes = {each.code: each for each in found.findings}

    assert "pressures_at_rest" not in codes
    assert codes["bath_warm"].advice == "First see whether its compressor pumps."
    assert any("does not pump" in each for each in found.first)


# A condenser that was cleaned in the visit, its split of 18 °F clean then some 55 °F: R-134a at 237 psi is at 140 °F
# (CoolProp 8). What was read before the cleaning is read again; what is high after it is no dirt.
HOT_CONDENSER = ("suction_pressure 12 psi", "discharge_pressure 237 psi", "condenser_air_in_temperature 85 degF")


def of_condenser(moment: str, *readings: str) -> Any:
    """The finding on the condenser of a visit that cleaned it, by readings of one moment."""
    asked = visit(*readings, "bath_temperature 28 degF", "current[comp-1] 8 A", tasks=CLEANING)
    found = assess(
        replace(asked, readings=tuple(replace(each, when=moment) for each in asked.readings)), unit(**UNIT), "us"
    )
    return next(each for each in found.findings if each.code in ("condenser_split_high", "air_rise_high"))


def test_a_split_that_is_high_after_cleaning_is_not_to_be_cleaned_again() -> None:
    found = of_condenser("as_left", *HOT_CONDENSER)

    assert found.severity == "act"
    assert found.advice.startswith("It was cleaned in this visit")
    assert "lean the condenser" not in found.advice


def test_air_that_warms_too_much_before_the_cleaning_is_read_again() -> None:
    rise = of_condenser("as_found", HOT_CONDENSER[2], "condenser_air_out_temperature 122 degF")

    assert rise.code == "air_rise_high"
    assert rise.advice == "It was worked on after this reading: read it again as left."


def test_a_warm_bath_behind_an_open_contactor_asks_for_the_contactor_alone() -> None:
    known = UNIT | {"components": [*MOTORS, {"code": "contactor-1", "kind": "contactor", "feeds": ["comp-1", "fan-1"]}]}
    read = ("bath_temperature 60 degF", "voltage_before[contactor-1] 115 V", "voltage_behind[contactor-1] 0 V")
    assessment = assess(visit(*read), unit(**known), "us")
    found = {each.code: each for each in assessment.findings}

    assert assessment.operating_state.state not in ("pulling_down", "holding", "starting")
    assert found["bath_warm"].severity == "note"
    assert found["bath_warm"].advice == "First see why the power stops at contactor-1."


def test_a_pump_that_alone_was_read_and_stands_is_named() -> None:
    read = ("bath_temperature 28 degF", "beer_temperature_at_tap[1] 55 degF", "current[pump-1] 0 A")

    assert "pump_stands" in urgent(assessed(*read))
    assert "pump_stands" not in urgent(assessed(*read, observations=[{"code": "display_dark"}]))


def test_a_fan_that_stands_is_named_once() -> None:
    found = assessed("bath_temperature 45 degF", "current[comp-1] 9 A", "current[fan-1] 0 A",
                     "condenser_air_in_temperature 82 degF")  # fmt: skip

    assert sum("fan" in each for each in found.first) == 1
