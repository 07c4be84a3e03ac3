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

    assert "clean it soon" in found.first[1]
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
