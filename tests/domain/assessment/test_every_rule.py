"""Every code of every rule: a visit that gives it, and the form that every rule has."""

import re

import pytest

from service.domain.assessment.assess import RULES
from service.domain.assessment.finding import SEVERITIES

BATH = {"volume": "38 L", "glycol": "propylene", "target_strength": "35 mass%", "set_point": "28 degF"}
R134A = {"refrigerant": "R-134a", "clean_split": "25 deltaF"}
CIRCUIT = {"refrigeration": R134A}
RATED = {
    **CIRCUIT,
    "refrigeration": {**R134A, "rated_cooling": "2900 Btu/h", "rated_ambient": "90 degF", "rated_bath": "28 degF"},
    "bath": BATH,
}
PUMP = {"code": "pump-1", "kind": "pump", "rated_current": "5.8 A"}
COMPRESSOR = {"code": "comp-1", "kind": "compressor", "rated_current": "10 A"}
MOTORS = {"components": [PUMP, COMPRESSOR]}


def switch(rated="20 A", rating="ac_only"):
    return {
        "components": [
            {"code": "switch-1", "kind": "power_switch", "feeds": ["pump-1"], "rated_current": rated, "rating": rating},
            PUMP,
        ]
    }


TRUNK = {
    "trunks": [
        {
            "code": "bar",
            "runs": [{"surroundings": "underground", "length": "120 ft", "temperature": "60 degF"}],
            "beer_lines": [{"tap": "1", "bore": "0.375 in"}],
        }
    ]
}
SUPPLY = {"supply": {"voltage": "115 V", "phases": 1}}
THREE = {"supply": {"voltage": "208 V", "phases": 3}}
LIKE = {"components": [{"code": f"contactor-{n}", "kind": "contactor"} for n in (1, 2)]}
CONTROLLER = {"components": [{"code": "stat-1", "kind": "temperature_controller"}]}
WITH_FAN = {"components": [PUMP, COMPRESSOR, {"code": "fan-1", "kind": "condenser_fan", "rated_current": "1 A"}]}
VALVE = {"refrigeration": {**R134A, "metering": "expansion_valve"}}
LOOP = (
    "glycol_flow {} gal/h; glycol_supply_temperature 29 degF; glycol_return_temperature {} degF; "
    "bath_temperature 29 degF"
)
BURNT = {"component": "contactor-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}
WORKED = {"replacements": [{"component": "pump-1", "reason": "failed", "condition": "seized", "evidence": "seen"}]}
BRIX = "glycol_strength {} Brix ~20 degC"
SHORT = [
    "suction_pressure 5.5 psi", "suction_line_temperature 36 degF", "discharge_pressure 122.7 psi",
    "bath_temperature 29 degF", "ambient_temperature 85 degF",
]  # fmt: skip
SUCTION, DISCHARGE = "suction_pressure 18.43 psi", "discharge_pressure {} psi"

# code, severity, readings, what is known of the unit, other fields of the visit
GIVING = [
    (
        "flammable_and_ignition",
        "stop",
        [],
        {"refrigeration": {"refrigerant": "R-290"}, **LIKE},
        {"replacements": [BURNT]},
    ),
    ("refrigerant_flammable", "note", [], {"refrigeration": {"refrigerant": "R-32"}}, {}),
    ("ethylene_glycol", "stop", [], {"bath": {"glycol": "ethylene"}}, {}),
    ("glycol_kind_unknown", "note", ["glycol_strength 35 mass%"], {"bath": {"glycol": "unknown"}}, {}),
    ("glycol_weak", "act", [BRIX.format(15)], {"bath": BATH}, {}),
    ("glycol_strong", "act", [BRIX.format(38)], {"bath": BATH}, {}),
    ("glycol_strength_good", "fine", [BRIX.format(25)], {}, {}),
    ("glycol_off_target", "note", [BRIX.format(20)], {"bath": BATH}, {}),
    ("brix_without_sample_temperature", "note", ["glycol_strength 25 Brix"], {}, {}),
    ("brix_compensation", "note", ["glycol_strength 25 Brix ~10 degC"], {}, {}),
    ("glycol_ph_low", "act", ["glycol_ph 7.2 pH"], {}, {}),
    ("glycol_ph_good", "fine", ["glycol_ph 9 pH"], {}, {}),
    ("freeze_margin_good", "fine", [BRIX.format(25)], {"bath": BATH}, {}),
    ("freeze_margin_small", "note", ["glycol_strength 29 mass%"], {"bath": BATH}, {}),
    ("coil_can_freeze", "act", [BRIX.format(17)], {"bath": {**BATH, "set_point": "24 degF"}}, {}),
    ("bath_below_freezing", "act", ["glycol_strength 10 mass%", "bath_temperature 23 degF"], {}, {}),
    ("ice_on_coil", "act", [], {}, {"observations": [{"code": "ice_on_coil"}]}),
    ("switch_over_rating", "stop", ["current[pump-1] 12 A"], switch(rating="resistive"), {}),
    ("switch_near_rating", "note", ["current[pump-1] 9 A"], switch(rating="resistive"), {}),
    ("switch_load_good", "fine", ["current[pump-1] 5 A"], switch(), {}),
    ("voltage_good", "fine", ["supply_voltage 118 V"], SUPPLY, {}),
    ("voltage_off", "act", ["supply_voltage 102 V"], SUPPLY, {}),
    ("voltage_far_off", "stop", ["supply_voltage 208 V"], SUPPLY, {}),
    ("voltage_none", "act", ["supply_voltage 0 V"], SUPPLY, {}),
    ("supply_interrupted", "act", ["supply_voltage 117 V", "supply_voltage 0 V"], SUPPLY, {}),
    (
        "voltage_at_dead_controller",
        "stop",
        ["voltage_at[stat-1] 117 V"],
        CONTROLLER,
        {"observations": [{"code": "display_dark"}]},
    ),
    ("power_stops_here", "act", ["voltage_before[switch-1] 117 V", "voltage_behind[switch-1] 0 V"], switch(), {}),
    ("no_voltage_before", "act", ["voltage_before[switch-1] 0 V", "voltage_behind[switch-1] 0 V"], switch(), {}),
    ("live_not_running", "act", ["voltage_at[pump-1] 117 V", "current[pump-1] 0 A"], MOTORS, {}),
    ("voltage_lost", "act", ["voltage_at[pump-1] 104 V", "supply_voltage 119 V"], {**SUPPLY, **MOTORS}, {}),
    ("voltages_read", "fine", ["voltage_before[switch-1] 117 V", "voltage_behind[switch-1] 117 V"], switch(), {}),
    (
        "compressor_stands",
        "act",
        ["current[comp-1] 0 A", "current[pump-1] 4 A", "bath_temperature 50 degF"],
        MOTORS,
        {},
    ),
    (
        "first_glass_warm",
        "note",
        ["beer_temperature_at_tap[1] 60 degF @0", "beer_temperature_at_tap[1] 39 degF @8"],
        {},
        {},
    ),
    ("fan_stands", "act", ["current[comp-1] 8 A", "current[fan-1] 0 A"], WITH_FAN, {}),
    ("pump_stands", "act", ["current[pump-1] 0 A", "current[comp-1] 8 A"], MOTORS, {}),
    (
        "glycol_not_moving",
        "act",
        ["bath_temperature 28 degF", "glycol_supply_temperature 66 degF", "beer_temperature_at_tap[1] 62 degF"],
        {},
        {},
    ),
    (
        "condenser_air_recirculates",
        "act",
        ["condenser_air_in_temperature 108 degF", "ambient_temperature 88 degF", "current[comp-1] 8 A"],
        MOTORS,
        {},
    ),
    (
        "pressures_equal_running",
        "note",
        ["suction_pressure 118 psi", DISCHARGE.format(124), "current[comp-1] 7 A"],
        MOTORS,
        {},
    ),
    (
        "evaporator_over_bath",
        "act",
        ["suction_pressure 48 psi", DISCHARGE.format(235), "bath_temperature 29 degF", "current[comp-1] 7 A"],
        {**CIRCUIT, **MOTORS},
        {},
    ),
    ("refrigerant_added", "note", ["refrigerant_added 8 oz"], {}, {}),
    (
        "contact_loses_voltage",
        "act",
        ["voltage_before[switch-1] 118 V", "voltage_behind[switch-1] 103 V"],
        switch(),
        {},
    ),
    ("unit_doubtful", "act", ["bath_temperature -2 degF"], {}, {}),
    ("times_contradict", "note", ["bath_temperature 60 degF @20 found", "bath_temperature 50 degF @5"], {}, {}),
    ("readings_contradict", "act", ["bath_temperature 82 degF", "glycol_supply_temperature 28 degF"], {}, {}),
    ("foam_not_from_warmth", "note", ["beer_temperature_at_tap[1] 37 degF"], {}, {"complaint": {"symptom": "foaming"}}),
    ("set_point_changed", "act", ["controller_set_point 36 degF"], {"bath": BATH}, {}),
    ("set_point_as_recorded", "fine", ["controller_set_point 28 degF"], {"bath": BATH}, {}),
    ("controller_disagrees", "act", ["controller_temperature 28 degF", "bath_temperature 38 degF"], {}, {}),
    ("controller_agrees", "fine", ["controller_temperature 29 degF", "bath_temperature 30 degF"], {}, {}),
    ("load_over_capacity", "act", ["ambient_temperature 106 degF", *LOOP.format(150, 39).split("; ")], RATED, {}),
    ("load_near_capacity", "note", ["ambient_temperature 106 degF", *LOOP.format(90, 32.5).split("; ")], RATED, {}),
    ("load_carried", "fine", ["ambient_temperature 85 degF", *LOOP.format(60, 31).split("; ")], RATED, {}),
    ("capacity_low_today", "note", ["ambient_temperature 110 degF"], RATED, {}),
    ("bath_near_band", "note", ["bath_temperature 34 degF"], {}, {}),
    ("beer_too_cold", "act", ["beer_temperature_at_tap[1] 25 degF"], {}, {}),
    ("cooler_too_cold", "act", ["cooler_temperature 27 degF"], {}, {}),
    (
        "overcharge_fits",
        "act",
        [
            "suction_pressure 17.7 psi",
            "suction_line_temperature 22 degF",
            DISCHARGE.format(150),
            "liquid_line_temperature 84 degF",
        ],
        CIRCUIT,
        {},
    ),
    ("low_charge_fits", "act", [*SHORT, "liquid_line_temperature 100 degF"], CIRCUIT, {}),
    ("restriction_fits", "act", [*SHORT, "liquid_line_temperature 86 degF"], CIRCUIT, {}),
    (
        "compressor_stops_early",
        "act",
        ["current[comp-1] 8 A @0", "current[comp-1] 0 A @3", "current[pump-1] 4 A", "bath_temperature 40 degF"],
        MOTORS,
        {},
    ),
    ("pressures_at_rest", "note", ["suction_pressure 25.3 psi", DISCHARGE.format(25.5)], CIRCUIT, {}),
    (
        "readings_apart",
        "note",
        ["suction_pressure 16 psi @0", "suction_line_temperature 27 degF @40", "bath_temperature 29 degF"],
        CIRCUIT,
        {},
    ),
    (
        "pressures_after_start",
        "note",
        ["current[comp-1] 0 A @0", "current[comp-1] 9 A @3", "suction_pressure 10 psi @3", DISCHARGE.format(112)],
        {**CIRCUIT, **MOTORS},
        {},
    ),
    (
        "gas_at_rest",
        "note",
        ["suction_pressure 42 psi", DISCHARGE.format(42), "bath_temperature 29 degF", "current[comp-1] 0 A"],
        {**CIRCUIT, **MOTORS},
        {},
    ),
    ("phases_balanced", "fine", ["supply_voltage 208 V"] * 3, THREE, {}),
    ("phases_unbalanced", "note", [f"supply_voltage {v} V" for v in (203, 210, 212)], THREE, {}),
    ("phases_far_unbalanced", "act", [f"supply_voltage {v} V" for v in (190, 210, 212)], THREE, {}),
    ("beer_cold", "fine", ["beer_temperature_at_tap[1] 37 degF"], {}, {}),
    ("beer_warm", "act", ["beer_temperature_at_tap[1] 44 degF"], {}, {}),
    (
        "beer_stands_uncooled",
        "act",
        ["beer_temperature_at_tap[1] 58 degF", "cooler_temperature 35 degF", "bath_temperature 30 degF"],
        TRUNK,
        {},
    ),
    ("purge_lines", "note", ["beer_temperature_at_tap[1] 50 degF"], TRUNK, {}),
    ("cooler_cold", "fine", ["cooler_temperature 36 degF"], {}, {}),
    ("cooler_warm", "act", ["cooler_temperature 45 degF"], {}, {}),
    ("pull_down_recovering", "fine", ["bath_temperature 80 degF @0", "bath_temperature 60 degF @20"], {}, {}),
    (
        "pull_down_slow",
        "act",
        [f"bath_temperature {warm} degF @{at}" for warm, at in ((80, 0), (60, 20), (51, 40), (47, 60), (45.2, 80))],
        {"bath": BATH},
        {},
    ),
    ("pull_down_loaded", "note", ["bath_temperature 80 degF @0", "bath_temperature 75 degF @20"], {}, {}),
    ("pull_down_not_cooling", "act", ["bath_temperature 80 degF @0", "bath_temperature 80 degF @10"], {}, {}),
    ("pull_down_too_early", "note", ["bath_temperature 80 degF @0", "bath_temperature 80 degF @5"], {}, {}),
    (
        "pull_down_unclear",
        "note",
        ["bath_temperature 47 degF @0 found", "bath_temperature 45 degF @60"],
        MOTORS,
        WORKED,
    ),
    ("pull_down_doubtful", "note", ["bath_temperature 80 degF @0", "bath_temperature 60 degF @2"], RATED, {}),
    ("bath_in_band", "fine", ["bath_temperature 30 degF"], {}, {}),
    ("bath_warm", "act", ["bath_temperature 47 degF"], {}, {}),
    ("bath_set_warm", "note", ["bath_temperature 38 degF"], {"bath": {"set_point": "36 degF"}}, {}),
    ("bath_cold", "note", ["bath_temperature 24 degF"], {}, {}),
    ("bath_colder_than_set", "act", ["bath_temperature 20 degF"], {"bath": BATH}, {}),
    ("bath_level_good", "fine", ["bath_level 90 %"], {}, {}),
    ("bath_level_low", "act", ["bath_level 60 %"], {}, {}),
    ("loop_rise_good", "fine", ["glycol_supply_temperature 29 degF", "glycol_return_temperature 32 degF"], {}, {}),
    ("loop_rise_high", "note", ["glycol_supply_temperature 29 degF", "glycol_return_temperature 39 degF"], {}, {}),
    ("loop_rise_unclear", "note", ["glycol_supply_temperature 29 degF", "glycol_return_temperature 36 degF"], {}, {}),
    ("loop_flow_low", "note", LOOP.format(20, 34).split("; "), {}, {}),
    ("loop_rise_negative", "note", ["glycol_supply_temperature 35 degF", "glycol_return_temperature 29 degF"], {}, {}),
    ("refrigerant_unknown", "note", [SUCTION], {"refrigeration": {"refrigerant": "blend of ours"}}, {}),
    ("saturation", "fine", [SUCTION], CIRCUIT, {}),
    ("superheat_good", "fine", [SUCTION, "suction_line_temperature 34 degF"], CIRCUIT, {}),
    ("superheat_low", "note", [SUCTION, "suction_line_temperature 24 degF"], CIRCUIT, {}),
    (
        "superheat_none",
        "act",
        [SUCTION, "suction_line_temperature 15 degF", "bath_temperature 31 degF", "ambient_temperature 75 degF"],
        VALVE,
        {},
    ),
    ("superheat_high", "note", [SUCTION, "suction_line_temperature 50 degF"], CIRCUIT, {}),
    ("subcooling_good", "fine", [DISCHARGE.format(124.16), "liquid_line_temperature 88 degF"], CIRCUIT, {}),
    ("subcooling_low", "note", [DISCHARGE.format(124.16), "liquid_line_temperature 97 degF"], CIRCUIT, {}),
    ("subcooling_high", "note", [DISCHARGE.format(124.16), "liquid_line_temperature 75 degF"], CIRCUIT, {}),
    ("evaporator_far_under_bath", "note", ["suction_pressure 3 psi", "bath_temperature 31 degF"], CIRCUIT, {}),
    ("frost_normal", "fine", ["frost_distance_after_capillary 2 in"], {}, {}),
    ("frost_on_capillary", "act", ["frost_distance_after_capillary -2 in"], {}, {}),
    ("frost_far", "note", ["frost_distance_after_capillary 40 in"], {}, {}),
    ("condenser_split_good", "fine", [DISCHARGE.format(124.16), "condenser_air_in_temperature 75 degF"], CIRCUIT, {}),
    ("condenser_split_rising", "note", [DISCHARGE.format(124.16), "condenser_air_in_temperature 68 degF"], CIRCUIT, {}),
    ("condenser_split_high", "act", [DISCHARGE.format(171), "condenser_air_in_temperature 75 degF"], CIRCUIT, {}),
    ("condenser_split_low", "note", [DISCHARGE.format(100), "condenser_air_in_temperature 81 degF"], CIRCUIT, {}),
    (
        "condenser_split_unjudged",
        "note",
        [DISCHARGE.format(124.16), "ambient_temperature 75 degF"],
        {"refrigeration": {"refrigerant": "R-134a"}},
        {},
    ),
    (
        "air_rise_good",
        "fine",
        ["condenser_air_in_temperature 80 degF", "condenser_air_out_temperature 105 degF"],
        {},
        {},
    ),
    (
        "air_rise_high",
        "note",
        ["condenser_air_in_temperature 80 degF", "condenser_air_out_temperature 120 degF"],
        {},
        {},
    ),
    (
        "air_rise_none",
        "note",
        ["condenser_air_in_temperature 80 degF", "condenser_air_out_temperature 81 degF", "current[comp-1] 8 A"],
        MOTORS,
        {},
    ),
    (
        "air_rise_unclear",
        "note",
        ["condenser_air_in_temperature 80 degF", "condenser_air_out_temperature 88 degF"],
        {},
        {},
    ),
    (
        "air_rise_low",
        "note",
        ["condenser_air_in_temperature 80 degF", "condenser_air_out_temperature 84.5 degF"],
        {},
        {},
    ),
    ("currents_good", "fine", ["current[pump-1] 5.6 A"], MOTORS, {}),
    (
        "currents_contradict",
        "act",
        ["current[switch-1] 13.3 A", "current[pump-1] 5.6 A"],
        switch(),
        {},
    ),
    ("current_none", "note", ["current[pump-1] 0 A"], MOTORS, {}),
    ("current_light", "note", ["current[comp-1] 3 A"], MOTORS, {}),
    ("current_at_rating", "note", ["current[pump-1] 5.9 A"], MOTORS, {}),
    ("current_over_rating", "act", ["current[pump-1] 7 A"], MOTORS, {}),
    ("rotor_locked", "act", ["current[pump-1] 30 A"], MOTORS, {}),
    (
        "current_over_table",
        "note",
        ["current[pump-1] 7 A"],
        {**SUPPLY, "components": [{"code": "pump-1", "kind": "pump", "rated_power": "0.25 hp"}]},
        {},
    ),
    ("contact_drop_good", "fine", ["contact_voltage_drop[contactor-1] 30 mV"], LIKE, {}),
    ("contact_drop_bad", "act", ["contact_voltage_drop[contactor-1] 0.5 V"], LIKE, {}),
    (
        "terminals_good",
        "fine",
        [f"terminal_temperature[contactor-{n}] 100 degF" for n in (1, 2)],
        LIKE,
        {},
    ),
    (
        "terminal_warm",
        "note",
        ["terminal_temperature[contactor-1] 104 degF", "terminal_temperature[contactor-2] 100 degF"],
        LIKE,
        {},
    ),
    ("terminal_hot", "act", ["terminal_temperature[contactor-1] 165 degF", "ambient_temperature 90 degF"], LIKE, {}),
    *[
        (code, severity, [], {}, {"observations": [{"code": code}]})
        for code, severity in (
            ("controls_scorched", "act"),
            ("display_dark", "act"),
            ("glycol_leak", "act"),
            ("oil_stain", "act"),
            ("air_in_lines", "act"),
            ("airflow_obstructed", "act"),
            ("area_littered", "note"),
            ("insulation_wet", "act"),
            ("insulation_damaged", "act"),
            ("bath_cap_missing", "act"),
            ("pump_noisy", "act"),
            ("cover_panel_missing", "act"),
            ("fasteners_missing", "note"),
            ("frost_on_capillary", "act"),
        )
    ],
    *[
        (f"left_{outcome}", "note", [], {}, {"outcome": outcome})
        for outcome in ("recovering", "down", "waiting_for_parts")
    ],
]


@pytest.mark.parametrize(("code", "severity", "readings", "known", "more"), GIVING)
def test_a_visit_gives_the_finding(assessed, code, severity, readings, known, more):
    given = {found.code: found for found in assessed(*readings, known=known, **more).findings}

    assert code in given, sorted(given)
    assert given[code].severity == severity
    assert given[code].sentence.endswith(".")
    assert "nan" not in given[code].sentence.lower()


@pytest.mark.parametrize(("code", "severity", "readings", "known", "more"), [case for case in GIVING if case[2]])
def test_without_its_readings_the_rule_gives_no_finding(findings, code, severity, readings, known, more):
    assert code not in findings(known=known, **more)


@pytest.mark.parametrize(("code", "severity", "readings", "known", "more"), GIVING)
def test_what_has_to_be_done_comes_with_advice_and_caution(assessed, code, severity, readings, known, more):
    for found in assessed(*readings, known=known, **more).findings:
        if found.severity in ("act", "stop"):
            assert found.advice
            assert found.caution
        assert found.source


def test_every_code_of_every_rule_is_among_those_visits():
    codes = {code for rule in RULES for code in rule.codes}

    assert codes == {case[0] for case in GIVING}


# Danger to people: ethylene glycol, a flammable refrigerant with an ignition source, voltage far off or where it is
# not expected, a switch over its rating, a terminal that burns.
def test_only_danger_is_a_stop():
    stopping = {code for code, severity, *_ in GIVING if severity == "stop"}

    assert stopping == {
        "ethylene_glycol",
        "flammable_and_ignition",
        "voltage_far_off",
        "switch_over_rating",
        "voltage_at_dead_controller",
    }


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.codes[0])
def test_a_rule_has_codes_source_caution_and_what_it_shows(rule):
    assert rule.codes
    assert all(re.fullmatch(r"[a-z][a-z0-9_]*", code) for code in rule.codes)
    assert len(rule.source) > 8
    assert rule.caution.endswith(".")
    assert rule.shows
    assert rule.judge.__module__.startswith("service.domain.assessment.")


def test_severities_go_from_the_most_urgent_to_the_least():
    assert SEVERITIES == ("stop", "act", "note", "fine")
