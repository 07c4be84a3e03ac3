"""Awkward visits, each with what a technician would conclude written first. Common practice, no source, throughout."""

import pytest

CIRCUIT = {
    "refrigerant": "R-134a", "metering": "capillary", "rated_cooling": "4700 Btu/h", "rated_ambient": "90 degF",
    "rated_bath": "28 degF", "clean_split": "20 deltaF",
}  # fmt: skip
TRUNKS = [
    {
        "code": code,
        "runs": [{"surroundings": "indoor", "length": "90 ft", "temperature": "75 degF"}],
        "beer_lines": [{"tap": str(tap)} for tap in taps],
    }
    for code, taps in (("bar", range(1, 5)), ("terrace", range(5, 9)))
]
UNIT = {
    "supply": {"voltage": "115 V"},
    "refrigeration": CIRCUIT,
    "bath": {"volume": "10 gal", "set_point": "28 degF", "differential": "3 deltaF", "target_strength": "35 mass%"},
    "components": [
        {"code": "compressor-1", "kind": "compressor", "rated_current": "9.8 A"},
        {"code": "fan-1", "kind": "condenser_fan", "rated_current": "1 A"},
        {"code": "pump-1", "kind": "pump", "rated_current": "5.8 A"},
        {"code": "controller-1", "kind": "temperature_controller"},
    ],
    "trunks": TRUNKS,
}
WITHOUT_A_LEAK = (
    "bath_temperature 29 degF", "condenser_air_in_temperature 85 degF", "condenser_air_out_temperature 97 degF",
    "suction_pressure 17 psi", "suction_line_temperature 28 degF", "discharge_pressure 165 psi",
    "liquid_line_temperature 92 degF", "current[compressor-1] 8.2 A",
)  # fmt: skip


@pytest.fixture
def visited(assessed):
    """Assesses a visit of a unit of which everything is recorded; the findings by code beside the assessment."""

    def do(*readings, seen=(), known=UNIT, **more):
        lines = [reading if reading.endswith(" left") else f"{reading} found" for reading in readings]
        observed = [{"code": code} for code in seen]
        found = assessed(*(line.removesuffix(" left") for line in lines), known=known, observations=observed, **more)
        return found, {finding.code: finding for finding in found.findings}

    return do


def test_a_sensor_that_reads_warm_is_named_before_the_bath_that_it_made_cold(visited):
    found, codes = visited(
        "bath_temperature 19 degF", "controller_temperature 46 degF", "current[compressor-1] 6.1 A",
        "ambient_temperature 80 degF",
    )  # fmt: skip

    assert "27 °F off" in found.first[0]
    assert "freezes" in found.first[0]
    assert codes["controller_disagrees"].severity == "act"


def test_a_sensor_that_reads_cold_is_checked_before_relay_and_capacitor(visited):
    found, codes = visited(
        "bath_temperature 38 degF", "controller_temperature 28 degF", "current[compressor-1] 0 A",
        "current[pump-1] 4.6 A",
    )  # fmt: skip

    assert "10 °F off" in found.first[0]
    assert "sensor before relay" in codes["compressor_stands"].advice


def test_while_the_bath_falls_a_display_read_at_another_time_shows_nothing(visited):
    _, codes = visited("bath_temperature 60 degF @0", "controller_temperature 52 degF @12", "current[compressor-1] 7 A")

    assert not codes.keys() & {"controller_disagrees", "controller_agrees"}


def test_a_set_point_that_was_changed_is_noticed(visited):
    _, codes = visited("controller_set_point 36 degF", "bath_temperature 37 degF")

    assert "28 °F is on record" in codes["set_point_changed"].sentence


def test_warm_pipes_and_warm_beer_over_a_cold_bath_are_a_pump_that_moves_nothing(visited):
    found, codes = visited(
        "bath_temperature 28 degF", "glycol_supply_temperature 66 degF", "current[pump-1] 2.9 A",
        "beer_temperature_at_tap[1] 62 degF", "beer_temperature_at_tap[5] 64 degF", "cooler_temperature 36 degF",
    )  # fmt: skip

    assert "readings_contradict" not in codes
    assert "coupling" in codes["glycol_not_moving"].advice
    assert "no glycol moves" in found.first[0]


def test_all_taps_of_one_trunk_are_no_matter_of_one_keg(visited):
    taps = [f"beer_temperature_at_tap[{tap}] {50 if tap > 4 else 38} degF" for tap in range(1, 9)]
    _, codes = visited(*taps, "cooler_temperature 36 degF", "bath_temperature 29 degF")

    assert "trunk terrace" in codes["beer_warm"].advice
    assert "keg" not in codes["beer_warm"].advice


def test_two_warm_taps_on_different_trunks_share_no_trunk(visited):
    taps = [f"beer_temperature_at_tap[{tap}] {50 if tap in (2, 6) else 38} degF" for tap in (1, 2, 5, 6)]
    _, codes = visited(*taps)

    assert "kegs of the warm taps" in codes["beer_warm"].advice


def test_a_locked_rotor_is_no_unit_that_pulls_down(visited):
    found, codes = visited("voltage_at[compressor-1] 88 V", "supply_voltage 117 V", "current[compressor-1] 44 A",
                           "bath_temperature 55 degF")  # fmt: skip

    assert found.operating_state.state != "pulling_down"
    assert "29 V is lost" in found.first[0]
    assert codes["bath_warm"].severity == "note"


def test_foam_from_cold_beer_is_looked_for_outside_of_the_unit(visited):
    found, _ = visited("beer_temperature_at_tap[1] 37 degF", "bath_temperature 29 degF", "cooler_temperature 36 degF",
                       complaint={"symptom": "foaming"})  # fmt: skip

    assert "gas pressure" in found.first[0]


def test_a_flow_that_was_measured_low_is_not_called_usual_by_its_rise(visited):
    _, codes = visited("glycol_flow 20 gal/h", "glycol_supply_temperature 29 degF", "glycol_return_temperature 34 degF")

    assert "loop_rise_good" not in codes
    assert "20 gal/h" in codes["loop_flow_low"].sentence


def test_a_circuit_with_hardly_any_charge_left_is_not_taken_for_one_at_rest(visited):
    # R-404A: 34 psi evaporates at 1 °F, 196 psi condenses at 87 °F, 2 °F over the air: no liquid is left to subcool.
    known = UNIT | {"refrigeration": CIRCUIT | {"refrigerant": "R-404A", "metering": "expansion_valve"}}
    _, codes = visited(
        "bath_temperature 42 degF", "condenser_air_in_temperature 85 degF", "suction_pressure 34 psi",
        "suction_line_temperature 38 degF", "discharge_pressure 196 psi", "liquid_line_temperature 88 degF",
        "current[compressor-1] 5.6 A", known=known,
    )  # fmt: skip

    assert codes["low_charge_fits"].severity == "act"


def test_in_a_warm_bath_ice_is_not_looked_for(visited):
    _, codes = visited("suction_pressure -5 psi", "bath_temperature 58 degF", "current[compressor-1] 3.9 A")

    assert "ice is not likely" in codes["evaporator_far_under_bath"].advice


def test_a_superheat_that_bath_and_air_do_not_explain_is_not_put_down_to_them(visited):
    _, codes = visited("suction_pressure -5 psi", "suction_line_temperature 60 degF", "bath_temperature 58 degF",
                       "ambient_temperature 80 degF", "current[compressor-1] 3.9 A")  # fmt: skip

    assert "do not explain it" in codes["superheat_high"].advice


def test_much_liquid_behind_a_high_split_is_not_answered_with_cleaning(visited):
    _, codes = visited(*WITHOUT_A_LEAK)

    assert "Clean it soon" not in codes["condenser_split_rising"].advice
    assert "gas that does not condense" in codes["condenser_split_rising"].advice
    assert "gas that does not condense" in codes["subcooling_high"].advice


def test_a_condenser_cleaned_in_the_visit_leaves_a_unit_that_recovers(visited):
    found, codes = visited(
        "bath_temperature 48 degF @0", "current[compressor-1] 0 A @3", "ambient_temperature 96 degF",
        "bath_temperature 49 degF @35 left", "bath_temperature 42 degF @50 left",
        "current[compressor-1] 7.4 A @45 left", seen=["airflow_obstructed"],
        tasks=[{"task": "condenser_clean", "result": "done", "as_found": "blocked"}],
    )  # fmt: skip

    assert not [each.code for each in found.findings if each.severity in ("act", "stop")]
    assert "see that it is clear" in codes["airflow_obstructed"].advice


def test_a_dark_display_without_supply_is_explained_by_that(visited):
    found, codes = visited("supply_voltage 0 V", "bath_temperature 61 degF", seen=["display_dark"])

    assert codes["display_dark"].severity == codes["bath_warm"].severity == "note"
    assert "stays off until the short is found" in codes["voltage_none"].advice
    assert len(found.first) == 1


def test_ice_is_thawed_before_the_strength_is_put_right(visited):
    found, codes = visited("glycol_strength 5 Brix ~68 degF", "bath_temperature 30 degF", seen=["ice_on_coil"])

    assert codes["glycol_weak"].advice.startswith("Thaw the coil")
    assert not any("drain" in sentence for sentence in found.first)


def test_a_satisfied_unit_in_order_is_answered_as_that(visited):
    found, codes = visited(
        "bath_temperature 28.5 degF", "ambient_temperature 20 degF", "suction_pressure 12 psi",
        "discharge_pressure 14 psi", "current[compressor-1] 0 A", "current[fan-1] 0 A", "current[pump-1] 4.5 A",
    )  # fmt: skip

    assert found.first == ("Everything that was measured is in order.",)
    assert codes["current_none"].advice is None


def test_a_bath_as_cold_as_the_controller_is_set_is_no_stuck_contact(visited):
    _, codes = visited("bath_temperature 20.5 degF", "controller_set_point 20 degF", "ambient_temperature 75 degF")

    assert codes["bath_colder_than_set"].severity == "note"
    assert "set point right" in codes["bath_colder_than_set"].advice


def test_swapped_gauges_show_nothing_but_that(visited):
    _, codes = visited("suction_pressure 130 psi", "discharge_pressure 17 psi", "current[compressor-1] 7 A",
                       "bath_temperature 29 degF", "condenser_air_in_temperature 85 degF",
                       "suction_line_temperature 28 degF")  # fmt: skip

    assert "swapped" in codes["readings_contradict"].sentence
    assert not codes.keys() & {"saturation", "pressures_at_rest", "superheat_none", "condenser_split_low"}


def test_a_compressor_that_draws_current_between_equal_pressures_does_not_pump(visited):
    _, codes = visited("suction_pressure 118 psi", "discharge_pressure 124 psi", "current[compressor-1] 7 A")

    assert "does not pump" in codes["pressures_equal_running"].sentence


def test_a_condenser_colder_than_its_air_is_a_wrong_reading(visited):
    # 118 psi is saturated at 75 °F (a pressure-temperature chart), under air of 95 °F.
    known = UNIT | {"refrigeration": CIRCUIT | {"refrigerant": "R-290"}}
    _, codes = visited("discharge_pressure 118 psi", "condenser_air_in_temperature 95 degF", "suction_pressure 20 psi",
                       "bath_temperature 40 degF", "current[compressor-1] 6 A", known=known)  # fmt: skip

    assert "no running unit's is" in codes["condenser_split_unjudged"].sentence


def test_a_contactor_that_is_open_comes_before_capacitor_and_overload(visited):
    known = UNIT | {"components": [*UNIT["components"], {"code": "contactor-1", "kind": "contactor"}]}
    _, codes = visited("voltage_before[contactor-1] 118 V", "voltage_behind[contactor-1] 0 V",
                       "bath_temperature 52 degF", "current[compressor-1] 0 A", known=known)  # fmt: skip

    assert "stops at contactor-1" in codes["compressor_stands"].advice


def test_a_dark_display_behind_an_open_switch_is_no_live_controller(visited):
    _, codes = visited("supply_voltage 118 V", "voltage_before[switch-1] 118 V", "voltage_behind[switch-1] 0 V",
                       seen=["display_dark"],
                       known=UNIT | {"components": [{"code": "switch-1", "kind": "power_switch"}]})  # fmt: skip

    assert "voltage_at_dead_controller" not in codes
    assert codes["power_stops_here"].severity == "act"


def test_a_bath_that_rises_in_a_rush_while_all_runs_is_read_again_with_the_taps_closed(visited):
    found, _ = visited("bath_temperature 31 degF @0", "bath_temperature 35 degF @30", "current[compressor-1] 7.2 A",
                       "current[fan-1] 0.8 A", "ambient_temperature 92 degF")  # fmt: skip

    assert not [each.code for each in found.findings if each.severity in ("act", "stop")]
    assert not any("in 0 min" in sentence for sentence in found.first)


def test_a_high_voltage_is_looked_for_at_both_legs(visited):
    _, codes = visited("supply_voltage 131 V")

    assert "loose neutral" in codes["voltage_off"].advice


def test_a_voltage_at_the_edge_of_ten_percent_is_called_that(visited):
    _, codes = visited("supply_voltage 208 V", known={"supply": {"voltage": "230 V"}})

    assert "too close" in codes["voltage_good"].sentence


def test_a_high_rise_at_a_usual_flow_is_a_load(visited):
    _, codes = visited(
        "glycol_flow 170 gal/h", "glycol_supply_temperature 30 degF", "glycol_return_temperature 39 degF"
    )

    assert "high heat load" in codes["loop_rise_high"].sentence
    assert "insulation" in codes["loop_rise_high"].advice


def test_air_that_comes_back_is_not_answered_with_cleaning(visited):
    found, _ = visited("ambient_temperature 88 degF", "condenser_air_in_temperature 108 degF",
                       "discharge_pressure 190 psi", "current[compressor-1] 8.6 A")  # fmt: skip

    assert "20 °F warmer" in found.first[0]


@pytest.mark.parametrize(
    "readings",
    [("voltage_before[switch-1] 118 V", "voltage_behind[switch-1] 103 V"), ("voltage_across[switch-1] 15 V",)],
    ids=["before and behind", "across"],
)
def test_fifteen_volts_lost_in_a_closed_switch_are_not_in_order(visited, readings):
    known = UNIT | {"components": [*UNIT["components"], {"code": "switch-1", "kind": "power_switch"}]}
    found, codes = visited(*readings, "current[compressor-1] 7 A", known=known)

    assert "15 V is lost" in codes["contact_loses_voltage"].sentence
    assert "lock out" in found.first[0]


def test_pressures_of_another_refrigerant_are_not_in_order(visited):
    # R-404A at 48 psi evaporates at 15 °F; read as R-134a it would be 46 °F, over a bath of 29 °F.
    found, _ = visited("suction_pressure 48 psi", "discharge_pressure 235 psi", "bath_temperature 29 degF",
                       "condenser_air_in_temperature 85 degF", "current[compressor-1] 7 A")  # fmt: skip

    assert "refrigerant on record" in found.first[0]


def test_a_compressor_that_rests_as_the_controller_is_set_is_no_fault(visited):
    _, codes = visited("controller_set_point 34 degF", "controller_temperature 35 degF", "bath_temperature 35 degF",
                       "current[compressor-1] 0 A", "current[pump-1] 4.6 A")  # fmt: skip

    assert "compressor_stands" not in codes
    assert "as set (34 °F)" in codes["bath_set_warm"].sentence


def test_one_of_three_phases_is_no_missing_supply(visited):
    found, codes = visited("supply_voltage 208 V", "supply_voltage 207 V", "supply_voltage 0 V",
                           known={"supply": {"voltage": "208 V", "phases": 3}})  # fmt: skip

    assert "a phase is missing" in codes["supply_interrupted"].sentence
    assert "now" in found.first[0]
    assert not codes.keys() & {"voltage_none", "not_calculated"}


def test_a_keg_that_is_not_cold_comes_before_the_loop(visited):
    _, codes = visited("cooler_temperature 38.5 degF", "keg_temperature 40 degF", "bath_temperature 29.5 degF",
                       "beer_temperature_at_tap[1] 41 degF")  # fmt: skip

    assert codes["beer_warm"].advice.startswith("Start at the keg")


def test_refrigerant_that_was_added_asks_for_the_leak(visited):
    _, codes = visited("refrigerant_added 8 oz", known={"refrigeration": CIRCUIT | {"charge": "24 oz"}})

    assert "33 % of its charge" in codes["refrigerant_added"].sentence


def test_a_charge_that_no_circuit_has_is_not_compared_with(visited):
    _, codes = visited("refrigerant_added 8 oz", known={"refrigeration": CIRCUIT | {"charge": "1e-310 kg"}})

    assert codes["refrigerant_added"].sentence == "8 oz of refrigerant was added: a sealed circuit uses none up."
