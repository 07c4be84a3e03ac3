"""Visits in awkward states, each with what a technician would conclude written first. Common practice, no source."""

import pytest

from service.domain.assessment.assess import assess
from tests.domain.assessment.conftest import unit, visit
from tests.domain.assessment.test_judged_together import RUNS, assessed
from tests.domain.assessment.test_measured import UNIT


# R-134a: both gauges at the saturation of a bath of 60 °F.
def test_a_compressor_that_pumps_nothing_is_not_called_starting():
    found, codes = assessed("suction_pressure 57 psi", "discharge_pressure 58.5 psi", "current[comp-1] 5 A",
                            "suction_line_temperature 66 degF", "liquid_line_temperature 75 degF",
                            "condenser_air_in_temperature 76 degF", "condenser_air_out_temperature 76.5 degF",
                            "bath_temperature 60 degF")  # fmt: skip

    assert found.operating_state.state == "unknown"
    assert "it does not pump" in codes["pressures_equal_running"].sentence


# 461.7 Btu/h per gpm and °F at 35 % by mass (CoolProp MPG), 6.6 °F at 1 gpm are 3050 Btu/h.
@pytest.mark.parametrize(("flow", "code"), [("1 gpm", "loop_rise_good"), (None, "loop_rise_unclear")])
def test_a_rise_just_over_the_usual_is_the_load_where_the_flow_was_read(flow, code):
    loop = ("glycol_supply_temperature 29.4 degF", "glycol_return_temperature 36 degF")
    _, codes = assessed(*loop, *([f"glycol_flow {flow}"] if flow else []), "bath_temperature 29.5 degF")

    assert code in codes


# What flows was read as found; nameplates, which print the most, show nothing more of the same parts as left.
def test_a_switch_whose_loads_were_read_is_not_judged_by_nameplates_as_left():
    read = [f"current[{code}] {amps} A found" for code, amps in (("comp-1", 7), ("pump-1", 4))]
    parts = [
        {"code": "switch-1", "kind": "power_switch", "rated_current": "20 A", "feeds": ["comp-1", "pump-1"]},
        {"code": "comp-1", "kind": "compressor", "rated_current": "11 A"},
        {"code": "pump-1", "kind": "pump", "rated_current": "5.8 A"},
    ]
    known = unit(**UNIT | {"components": parts})
    found, left, unread = (
        {each.code for each in assess(visit(*lines), known, "us", 0.0).findings}
        for lines in (read, [*read, "bath_temperature 31 degF"], ["bath_temperature 31 degF"])
    )

    assert "switch_load_good" in found & left
    assert "switch_near_rating" not in left
    assert "switch_near_rating" in unread


# A condenser 25 °F over air of 104 °F, clean 18 °F, expected 20 °F by a steady model: dirt on a hot day.
def test_a_condenser_that_fouls_on_a_hot_day_is_named_before_the_day():
    circuit = UNIT["refrigeration"] | {
        "refrigerant": "R-290", "clean_split": "18 deltaF", "rated_cooling": "3500 Btu/h", "rated_ambient": "90 degF",
        "rated_bath": "29 degF",
    }  # fmt: skip
    found, _ = assessed("suction_pressure 43.7 psi", "discharge_pressure 255 psi", RUNS, "bath_temperature 34 degF",
                        "condenser_air_in_temperature 104 degF", "condenser_air_out_temperature 121 degF",
                        known=UNIT | {"refrigeration": circuit})  # fmt: skip

    assert "clean it soon" in found.first[0]
    assert not any("of its rating" in each for each in found.first[:2])


# R-134a, 45 % too much: a steady capillary model gives a subcooling of 18 °F and a superheat of 1 °F; gas 15, 10.
def test_much_liquid_and_next_to_no_superheat_point_to_an_overcharge():
    _, codes = assessed("suction_pressure 17.7 psi", "discharge_pressure 139 psi", "suction_line_temperature 19.9 degF",
                        "liquid_line_temperature 88.7 degF", "bath_temperature 31 degF", RUNS,
                        "condenser_air_in_temperature 85 degF", "condenser_air_out_temperature 96.9 degF")  # fmt: skip

    assert "fits too much refrigerant better than gas" in codes["overcharge_fits"].sentence
    assert "too close to tell" not in codes["overcharge_fits"].sentence
    assert "Do not add refrigerant" in codes["overcharge_fits"].advice


# 58 A of 9.8: a start draws that for a second at most, so what was read is a rotor that does not turn.
@pytest.mark.parametrize("fan", [(), ("current[fan-1] 0.8 A",)])
def test_a_compressor_whose_rotor_is_locked_is_not_called_starting(fan):
    parts = [
        {"code": "comp-1", "kind": "compressor", "rated_current": "9.8 A"},
        {"code": "fan-1", "kind": "condenser_fan", "rated_current": "1 A"},
    ]
    found, codes = assessed("current[comp-1] 58 A", *fan, "supply_voltage 119 V", "bath_temperature 54 degF",
                            known=UNIT | {"components": parts})  # fmt: skip

    assert found.operating_state.state in ("idle", "unknown")
    assert codes["rotor_locked"].severity == "act"


# 60 % of its air: a clean split of 18 °F has become 22 (common practice, no source); its readings are good to 4 °F.
@pytest.mark.parametrize(("head", "noted"), [("178.8", True), ("172.7", False)])
def test_a_split_just_over_the_clean_one_is_a_worry_and_not_in_order(head, noted):
    circuit = {"refrigerant": "R-290", "metering": "capillary", "clean_split": "18 deltaF"}
    found, codes = assessed("suction_pressure 38.5 psi", f"discharge_pressure {head} psi", RUNS,
                            "bath_temperature 29 degF", "condenser_air_in_temperature 80 degF",
                            known=UNIT | {"refrigeration": circuit})  # fmt: skip

    assert ("condenser_split_rising" in codes) is noted
    assert ("where the readings are good to 4 °F" in found.first[0]) is noted
    assert ("in order" in found.first[0]) is not noted


# A third less through the capillary and a fifth too much refrigerant, by a steady model: superheat 24, subcooling 15.
def test_refrigerant_that_was_added_to_a_restricted_circuit_asks_for_no_leak():
    starved = ("suction_pressure 9.3 psi", "suction_line_temperature 29 degF", "discharge_pressure 126.5 psi",
               "liquid_line_temperature 85.9 degF", "bath_temperature 29 degF", "condenser_air_in_temperature 85 degF",
               "refrigerant_added 6 oz", RUNS)  # fmt: skip
    _, restricted = assessed(*starved)
    _, empty = assessed(*(each.replace("85.9", "99") for each in starved))  # the liquid line as warm as it condenses

    assert "Feel the drier" in restricted["refrigerant_added"].advice
    assert "it does not lack refrigerant" in restricted["refrigerant_added"].sentence
    assert empty["refrigerant_added"].advice.startswith("Find and repair the leak")


def test_a_compressor_that_tried_to_start_is_not_asked_where_its_power_stops():
    parts = [{"code": "comp-1", "kind": "compressor", "rated_current": "9.8 A"}]
    _, codes = assessed("current[comp-1] 57 A @0", "current[comp-1] 0 A @1", "bath_temperature 58 degF",
                        known=UNIT | {"components": parts})  # fmt: skip

    assert "tried to start at 57 A" in codes["compressor_stands"].sentence
    assert "start relay" in codes["compressor_stands"].advice
    assert "where the power" not in codes["compressor_stands"].advice


def test_a_pump_that_stands_over_a_cold_bath_is_no_unit_without_power():
    parts = [{"code": "pump-1", "kind": "pump", "rated_current": "5.8 A"}]
    readings = ("current[pump-1] 0 A", "bath_temperature 28 degF", "beer_temperature_at_tap[1] 58 degF")
    alone, _ = assessed(*readings, known=UNIT | {"components": parts})
    dark, _ = assessed(*readings, known=UNIT | {"components": parts}, observations=[{"code": "display_dark"}])

    assert alone.operating_state.state != "off"
    assert dark.operating_state.state == "off"


def test_a_rotor_that_was_locked_is_put_right_by_its_start_gear():
    parts = [{"code": "comp-1", "kind": "compressor", "rated_current": "9.8 A"},
             {"code": "cap-1", "kind": "start_capacitor"}]  # fmt: skip
    lines = ("current[comp-1] 52 A found", "current[comp-1] 8.8 A", "bath_temperature 44 degF")
    done = [{"component": "cap-1", "reason": "failed", "condition": "open_circuit", "evidence": "seen"}]
    known = unit(**UNIT | {"components": parts})
    left = {each.code: each for each in assess(visit(*lines, replacements=done), known, "us", 0.0).findings}
    without = {each.code: each for each in assess(visit(*lines), known, "us", 0.0).findings}

    assert left["rotor_locked"].severity == "note"
    assert without["rotor_locked"].severity == "act"


def test_air_that_may_be_celsius_makes_no_superheat_low():
    lines = ("discharge_pressure 112 psi", "suction_pressure 15.5 psi", "suction_line_temperature 27 degF", RUNS,
             "bath_temperature 29 degF")  # fmt: skip
    _, slip = assessed(*lines, "condenser_air_in_temperature 24 degF")

    assert "°C" in slip["condenser_split_unjudged"].advice
    assert "superheat_low" not in slip


def test_a_dark_controller_without_voltage_shows_that_the_power_stops_before_it():
    parts = [{"code": "switch-1", "kind": "power_switch"}, {"code": "ctl-1", "kind": "temperature_controller"},
             {"code": "pump-1", "kind": "pump", "rated_current": "5.8 A"}]  # fmt: skip
    _, codes = assessed("voltage_before[switch-1] 119 V", "voltage_behind[switch-1] 118 V", "voltage_at[ctl-1] 0 V",
                        "current[pump-1] 4.5 A", known=UNIT | {"components": parts},
                        observations=[{"code": "display_dark"}])  # fmt: skip

    assert "the power stops before it" in codes["no_voltage_before"].sentence


# 100 gal/h warmed by 4 °F are some 3 100 Btu/h (462 Btu/h per gal/min and °F at 35 %), more than 2 900 of its rating.
def test_what_explains_a_warm_bath_takes_the_places_that_urgent_findings_leave():
    circuit = UNIT["refrigeration"] | {
        "rated_cooling": "2900 Btu/h",
        "rated_ambient": "85 degF",
        "rated_bath": "29 degF",
    }
    found, _ = assessed("bath_temperature 38 degF", "glycol_flow 100 gal/h", "glycol_supply_temperature 38 degF",
                        "glycol_return_temperature 42 degF", "condenser_air_in_temperature 85 degF", RUNS,
                        "beer_temperature_at_tap[1] 43 degF", known=UNIT | {"refrigeration": circuit})  # fmt: skip

    assert found.first[0].startswith("Beer pours warm")
    assert any("much is poured" in each for each in found.first[1:])
    assert not any("Purge" in each or "pitchers" in each for each in found.first)


@pytest.mark.parametrize(("bath", "severity"), [("29", "note"), ("81", "act")])
def test_a_set_point_far_over_the_bath_was_misread_or_set_just_now(bath, severity):
    known = UNIT | {"bath": {"set_point": "28 degF"}}
    _, codes = assessed("controller_set_point 82 degF", f"bath_temperature {bath} degF", known=known)

    assert codes["set_point_changed"].severity == severity
    assert ("Read the display again" in codes["set_point_changed"].advice) is (severity == "note")
