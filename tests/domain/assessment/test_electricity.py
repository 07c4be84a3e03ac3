"""Currents, switches, supply and contacts, against the published rules."""

import pytest

MOTORS = [
    {"code": "comp-1", "kind": "compressor", "rated_current": "9.8 A"},
    {"code": "pump-1", "kind": "pump", "rated_current": "5.8 A"},
    {"code": "fan-1", "kind": "condenser_fan", "rated_current": "1 A"},
]
READ = ["current[comp-1] 9.8 A", "current[pump-1] 5.8 A", "current[fan-1] 1 A"]


def switched(*, rating="ac_only", rated="20 A", feeds=("comp-1", "pump-1", "fan-1"), more=()):
    switch = {
        "code": "switch-1",
        "kind": "power_switch",
        "feeds": list(feeds),
        "rated_current": rated,
        "rating": rating,
    }
    return {"components": [switch, *MOTORS, *more]}


# NEC Table 430.248 at 115 V for 1/2 and 1/4 hp with a 1 A fan: 16.6 A; a 20 A AC-only switch may carry 16 A.
def test_the_sum_through_a_switch_over_its_motor_limit_has_to_be_corrected(findings):
    found = findings(*READ, known=switched())["switch_over_rating"]

    assert (found.severity, found.figures["running"].value) == ("act", pytest.approx(16.6))
    assert "16.6 A" in found.sentence
    assert "16 A of motor load" in found.sentence
    assert "for heat and its voltage drop before leaving" in found.advice


# NEC 430.32(A)(1): overload protection may let a motor carry 115 % for good, so what feeds it carries that too.
# 16.6 A with a clamp meter of 3 % (judged) is surely beyond 115 % of 13.6 A (17 A AC-only), not of 14.4 A (18 A).
@pytest.mark.parametrize(("rated", "severity"), [("17 A", "stop"), ("18 A", "act")])
def test_a_switch_is_a_stop_beyond_what_the_protection_of_its_motors_allows(findings, rated, severity):
    assert findings(*READ, known=switched(rated=rated))["switch_over_rating"].severity == severity


@pytest.mark.parametrize("rating", ["motor", "resistive", "ac_only", None])
def test_a_switch_over_its_printed_amperes_is_reported_whatever_its_rating(findings, rating):
    assert "switch_over_rating" in findings(*READ, known=switched(rated="15 A", rating=rating))


def test_a_nameplate_stands_in_for_a_current_that_was_not_read(findings):
    found = findings("current[pump-1] 3 A", known=switched())["switch_near_rating"]

    assert found.figures["running"].value == pytest.approx(13.8)
    assert "nameplate of comp-1 and fan-1" in found.sentence


# A nameplate prints the most that flows: what was read decides whether people are in danger. Judged, no source.
def test_a_sum_that_is_over_by_nameplates_alone_has_to_be_corrected_and_is_no_danger(findings):
    known = switched(rated="13 A", rating="motor")

    assert findings("current[pump-1] 4.9 A", known=known)["switch_over_rating"].severity == "act"
    assert findings(*READ, known=known)["switch_over_rating"].severity == "stop"


# US Army TM 55-1930-209-14&P-15, p. 124: an overload short-cycles with a dirty condenser, a stopped fan, voltage off.
def test_a_compressor_that_ran_minutes_before_does_not_stand_but_stops_early(findings):
    timed = ["current[comp-1] 8.2 A @0", "current[comp-1] 0 A @2", "bath_temperature 40 degF"]
    found = findings(*timed, known={"components": MOTORS})

    assert "compressor_stands" not in found
    assert found["compressor_stops_early"].advice.startswith("Look at condenser, fan and voltage first")


def test_a_locked_rotor_before_rest_is_no_running(findings):
    timed = ["current[comp-1] 58 A @0", "current[comp-1] 0 A @2", "bath_temperature 40 degF"]

    assert "compressor_stands" in findings(*timed, known={"components": MOTORS})


def test_where_a_load_is_unknown_the_sum_is_a_least_one_and_never_fine(findings):
    heater = {"code": "agitator-1", "kind": "agitator"}
    known = switched(feeds=["fan-1", "agitator-1"], more=[heater])

    assert "switch_load_good" not in findings("current[fan-1] 1 A", known=known)
    heavy = switched(feeds=["comp-1", "agitator-1"], rated="10 A", more=[heater])
    assert "at least 9.8 A" in findings("current[comp-1] 9.8 A", known=heavy)["switch_over_rating"].sentence


def test_a_switch_carries_what_its_contactor_feeds(findings):
    contactor = {"code": "contactor-1", "kind": "contactor", "feeds": ["comp-1", "pump-1", "fan-1"]}
    found = findings(*READ, known=switched(feeds=["contactor-1"], more=[contactor]))

    assert found["switch_over_rating"].figures["running"].value == pytest.approx(16.6)


# Common practice, no source: a controller with a contactor behind it carries the coil's current only.
def test_a_controller_does_not_carry_what_its_contactor_feeds(findings):
    contactor = {"code": "contactor-1", "kind": "contactor", "feeds": ["comp-1", "pump-1", "fan-1"]}
    controller = {"code": "thermostat-1", "kind": "temperature_controller", "feeds": ["contactor-1"]}
    known = {"components": [controller | {"rated_current": "10 A"}, contactor, *MOTORS]}

    assert "switch_over_rating" not in findings(*READ, known=known)


def test_a_loop_of_feeds_is_followed_once(findings):
    contactor = {"code": "contactor-1", "kind": "contactor", "feeds": ["switch-1", "pump-1"], "rated_current": "30 A"}

    assert "switch_load_good" in findings(
        "current[pump-1] 5 A", known=switched(feeds=["contactor-1"], more=[contactor])
    )


def test_a_component_that_was_taken_out_carries_nothing(findings):
    gone = [part | {"removed_on": "2025-01-01"} for part in MOTORS]
    known = switched()

    assert findings(known={"components": [known["components"][0], *gone]}) == {}


# NEC Table 430.251(A): 1/2 hp at 115 V has 9.8 A full load and 58.8 A locked rotor.
@pytest.mark.parametrize(
    ("amperes", "code"), [(58.8, "rotor_locked"), (12, "current_over_rating"), (9.9, "current_at_rating")]
)
def test_a_current_is_judged_against_its_nameplate(findings, amperes, code):
    assert code in findings(f"current[comp-1] {amperes} A", known={"components": MOTORS})


# NEC Table 430.251(A): six times the full load is a stalled motor, no load that a larger switch is the remedy for.
@pytest.mark.parametrize("lines", [["current[comp-1] 58.8 A"], ["current[comp-1] 58.8 A", "current[switch-1] 60 A"]])
def test_a_locked_rotor_is_no_reason_for_a_larger_switch(assessed, lines):
    assessment = assessed(*lines, known=switched(rated="30 A"))
    found = {finding.code for finding in assessment.findings}

    assert "rotor_locked" in found
    assert not {code for code in found if code.startswith("switch_")}
    assert "the rotor is locked" in " ".join(assessment.first)


def test_a_switch_through_which_nothing_flows_is_not_called_good(findings):
    assert "switch_load_good" not in findings("current[comp-1] 0 A", known=switched(feeds=["comp-1", "fan-1"]))


# Power in a bath at 70 °F is 13 % (capillary) to 27 % (valve) over that at 29 °F: a steady cycle, CoolProp 8.
@pytest.mark.parametrize(
    ("amperes", "bath", "severity"), [(10.6, 64, "note"), (10.6, 34, "act"), (10.6, None, "act"), (12.0, 64, "act")]
)
def test_a_warm_bath_explains_a_compressor_a_little_over_its_nameplate(findings, amperes, bath, severity):
    lines = [f"current[comp-1] {amperes} A", *([f"bath_temperature {bath} degF"] if bath else [])]

    assert findings(*lines, known={"components": MOTORS})["current_over_rating"].severity == severity


def test_a_component_replaced_since_is_only_to_be_read_again(findings):
    new = [{"component": "pump-1", "reason": "failed", "condition": "seized", "evidence": "seen"}]
    found = findings("current[pump-1] 9 A found", known={"components": MOTORS}, replacements=new)["current_over_rating"]

    assert found.severity == "note"


# NEMA MG 1: 10 % either side. 90 % of the voltage leaves 81 % of the torque.
@pytest.mark.parametrize(
    ("volts", "code"),
    [(104, "voltage_good"), (126, "voltage_good"), (103, "voltage_off"), (127, "voltage_off"), (96, "voltage_far_off")],
)
def test_the_supply_is_judged_by_the_nameplates_band(findings, volts, code):
    assert code in findings(f"supply_voltage {volts} V", known={"supply": {"voltage": "115 V"}})


def test_the_worst_of_several_voltages_counts(findings):
    found = findings("supply_voltage 118 V", "supply_voltage 101 V", known={"supply": {"voltage": "115 V"}})

    assert found["voltage_off"].figures["voltage"].value == 101.0
    assert "77 % of its starting torque" in found["voltage_off"].sentence


# A motor article prints 0.84 % for (480, 476, 472) V, another 1.1 % for (462, 463, 455) V; derate over 1 %.
@pytest.mark.parametrize(
    ("phases", "code"), [((480, 476, 472), "phases_balanced"), ((462, 463, 455), "phases_unbalanced")]
)
def test_three_phases_are_judged_by_their_unbalance(findings, phases, code):
    readings = [f"supply_voltage {volts} V" for volts in phases]

    assert code in findings(*readings, known={"supply": {"phases": 3}})


# P = I V: 16 A and 0.5 V are 8 W in one joint.
def test_a_bad_contact_shows_its_heat(findings):
    known = {"components": [{"code": "contactor-1", "kind": "contactor"}]}
    found = findings("contact_voltage_drop[contactor-1] 0.5 V", "current[contactor-1] 16 A", known=known)[
        "contact_drop_bad"
    ]

    assert found.figures["heat"].value == pytest.approx(8.0)
    assert "8.0 W" in found.sentence


# ANSI/NETA Table 100.18: 1 to 3 K beside a similar part possible, 4 to 15 probable, over 15 major.
@pytest.mark.parametrize(
    ("hot", "words"), [("42 degC", "possibly"), ("50 degC", "probably"), ("60 degC", "repair it now")]
)
def test_a_terminal_is_judged_beside_a_similar_one(findings, hot, words):
    known = {"components": [{"code": f"contactor-{n}", "kind": "contactor"} for n in (1, 2)]}
    found = findings(
        f"terminal_temperature[contactor-1] {hot}", "terminal_temperature[contactor-2] 40 degC", known=known
    )

    assert words in found.get("terminal_warm", found.get("terminal_hot")).sentence


def test_a_burnt_switch_with_propane_is_a_stop_and_without_it_is_not(findings):
    known = {"components": [{"code": "switch-1", "kind": "power_switch"}]}
    burnt = [{"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}]

    assert "flammable_and_ignition" in findings(
        known={**known, "refrigeration": {"refrigerant": "propane"}}, replacements=burnt
    )
    assert findings(known={**known, "refrigeration": {"refrigerant": "R-134a"}}, replacements=burnt) == {}


def test_scorched_controls_with_a_mildly_flammable_refrigerant_are_a_stop(findings):
    known = {"refrigeration": {"refrigerant": "R-454C"}}

    assert (
        findings(known=known, observations=[{"code": "controls_scorched"}])["flammable_and_ignition"].severity == "stop"
    )


# Kirchhoff's first law; the margins are common practice, no source.
def test_a_switch_that_carries_more_than_its_loads_draw_is_noticed_with_the_numbers_and_what_to_check(findings):
    loads = ["current[comp-1] 6.1 A", "current[pump-1] 2.6 A", "current[fan-1] 0.6 A"]
    found = findings("current[switch-1] 13.3 A", *loads, known=switched())["currents_contradict"]

    assert found.severity == "act"
    assert "13.3 A" in found.sentence
    assert "9.3 A together" in found.sentence
    assert "4 A more" in found.sentence
    assert "leak to earth" in found.advice


@pytest.mark.parametrize(
    "lines",
    [
        ("current[switch-1] 9.6 A", "current[comp-1] 6.1 A", "current[pump-1] 2.6 A", "current[fan-1] 0.6 A"),
        ("current[switch-1] 13.3 A", "current[comp-1] 0 A", "current[pump-1] 2.6 A", "current[fan-1] 0 A"),
        ("current[switch-1] 13.3 A", "current[comp-1] 6.1 A", "current[pump-1] 2.6 A"),
    ],
    ids=["within the meters", "the compressor comes and goes", "not all were read"],
)
def test_currents_that_may_be_right_are_no_contradiction(findings, lines):
    assert "currents_contradict" not in findings(*lines, known=switched())
