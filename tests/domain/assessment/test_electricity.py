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
def test_the_sum_through_a_switch_over_its_motor_limit_says_stop(said):
    told = said(*READ, known=switched())["switch_over_rating"]

    assert (told.severity, told.figures["running"].value) == ("stop", pytest.approx(16.6))
    assert "16.6 A" in told.sentence
    assert "16 A of motors" in told.sentence


@pytest.mark.parametrize("rating", ["motor", "resistive", "ac_only", None])
def test_a_switch_over_its_printed_amperes_says_stop_whatever_its_rating(said, rating):
    assert "switch_over_rating" in said(*READ, known=switched(rated="15 A", rating=rating))


def test_a_nameplate_stands_in_for_a_current_that_was_not_read(said):
    told = said("current[pump-1] 3 A", known=switched())["switch_near_rating"]

    assert told.figures["running"].value == pytest.approx(13.8)
    assert "nameplate of comp-1 and fan-1" in told.sentence


def test_where_a_load_is_unknown_the_sum_is_a_least_one_and_never_fine(said):
    heater = {"code": "agitator-1", "kind": "agitator"}
    known = switched(feeds=["fan-1", "agitator-1"], more=[heater])

    assert "switch_load_good" not in said("current[fan-1] 1 A", known=known)
    heavy = switched(feeds=["comp-1", "agitator-1"], rated="10 A", more=[heater])
    assert "at least 9.8 A" in said("current[comp-1] 9.8 A", known=heavy)["switch_over_rating"].sentence


def test_a_switch_carries_what_its_contactor_feeds(said):
    contactor = {"code": "contactor-1", "kind": "contactor", "feeds": ["comp-1", "pump-1", "fan-1"]}
    told = said(*READ, known=switched(feeds=["contactor-1"], more=[contactor]))

    assert told["switch_over_rating"].figures["running"].value == pytest.approx(16.6)


# Common practice, no source: a controller with a contactor behind it carries the coil's current only.
def test_a_controller_does_not_carry_what_its_contactor_feeds(said):
    contactor = {"code": "contactor-1", "kind": "contactor", "feeds": ["comp-1", "pump-1", "fan-1"]}
    controller = {"code": "thermostat-1", "kind": "temperature_controller", "feeds": ["contactor-1"]}
    known = {"components": [controller | {"rated_current": "10 A"}, contactor, *MOTORS]}

    assert "switch_over_rating" not in said(*READ, known=known)


def test_a_circle_of_feeds_is_walked_once(said):
    contactor = {"code": "contactor-1", "kind": "contactor", "feeds": ["switch-1", "pump-1"], "rated_current": "30 A"}

    assert "switch_load_good" in said("current[pump-1] 5 A", known=switched(feeds=["contactor-1"], more=[contactor]))


def test_a_component_that_was_taken_out_carries_nothing(said):
    gone = [part | {"removed_on": "2025-01-01"} for part in MOTORS]
    known = switched()

    assert said(known={"components": [known["components"][0], *gone]}) == {}


# NEC Table 430.251(A): 1/2 hp at 115 V has 9.8 A full load and 58.8 A locked rotor.
@pytest.mark.parametrize(
    ("amperes", "code"), [(58.8, "rotor_locked"), (12, "current_over_rating"), (9.9, "current_at_rating")]
)
def test_a_current_is_judged_against_its_nameplate(said, amperes, code):
    assert code in said(f"current[comp-1] {amperes} A", known={"components": MOTORS})


def test_a_component_replaced_since_is_only_to_be_read_again(said):
    new = [{"component": "pump-1", "reason": "failed", "condition": "seized", "evidence": "seen"}]
    told = said("current[pump-1] 9 A found", known={"components": MOTORS}, replacements=new)["current_over_rating"]

    assert told.severity == "note"


# NEMA MG 1: 10 % either side. 90 % of the voltage leaves 81 % of the torque.
@pytest.mark.parametrize(
    ("volts", "code"),
    [(104, "voltage_good"), (126, "voltage_good"), (103, "voltage_off"), (127, "voltage_off"), (97, "voltage_far_off")],
)
def test_the_supply_is_judged_by_the_nameplates_band(said, volts, code):
    assert code in said(f"supply_voltage {volts} V", known={"supply": {"voltage": "115 V"}})


def test_the_worst_of_several_voltages_counts(said):
    told = said("supply_voltage 118 V", "supply_voltage 101 V", known={"supply": {"voltage": "115 V"}})

    assert told["voltage_off"].figures["voltage"].value == 101.0
    assert "77 % of its starting torque" in told["voltage_off"].sentence


# A motor article prints 0.84 % for (480, 476, 472) V, another 1.1 % for (462, 463, 455) V; derate over 1 %.
@pytest.mark.parametrize(
    ("phases", "code"), [((480, 476, 472), "phases_balanced"), ((462, 463, 455), "phases_unbalanced")]
)
def test_three_phases_are_judged_by_their_unbalance(said, phases, code):
    readings = [f"supply_voltage {volts} V" for volts in phases]

    assert code in said(*readings, known={"supply": {"phases": 3}})


# P = I V: 16 A and 0.5 V are 8 W in one joint.
def test_a_bad_contact_tells_its_heat(said):
    known = {"components": [{"code": "contactor-1", "kind": "contactor"}]}
    told = said("contact_voltage_drop[contactor-1] 0.5 V", "current[contactor-1] 16 A", known=known)["contact_drop_bad"]

    assert told.figures["heat"].value == pytest.approx(8.0)
    assert "8.0 W" in told.sentence


# ANSI/NETA Table 100.18: 1 to 3 K beside a similar part possible, 4 to 15 probable, over 15 major.
@pytest.mark.parametrize(
    ("hot", "words"), [("42 degC", "possibly"), ("50 degC", "probably"), ("60 degC", "to be mended now")]
)
def test_a_terminal_is_judged_beside_its_like(said, hot, words):
    known = {"components": [{"code": f"contactor-{n}", "kind": "contactor"} for n in (1, 2)]}
    told = said(f"terminal_temperature[contactor-1] {hot}", "terminal_temperature[contactor-2] 40 degC", known=known)

    assert words in told.get("terminal_warm", told.get("terminal_hot")).sentence


def test_a_burnt_switch_with_propane_says_stop_and_without_it_does_not(said):
    known = {"components": [{"code": "switch-1", "kind": "power_switch"}]}
    burnt = [{"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}]

    assert "flammable_and_ignition" in said(
        known={**known, "refrigeration": {"refrigerant": "propane"}}, replacements=burnt
    )
    assert said(known={**known, "refrigeration": {"refrigerant": "R-134a"}}, replacements=burnt) == {}


def test_scorched_controls_with_a_mildly_flammable_refrigerant_say_stop(said):
    known = {"refrigeration": {"refrigerant": "R-454C"}}

    assert said(known=known, observations=[{"code": "controls_scorched"}])["flammable_and_ignition"].severity == "stop"
