"""Awkward calls, each with what a technician would conclude written first. Common practice, no source, throughout."""

from service.domain.triage.cause import likely_cause

from .conftest import RECORD, question, unit
from .test_triage import circuit, ranked, share

TRUNKS = [
    {"code": code, "beer_lines": [{"tap": str(tap)} for tap in taps]}
    for code, taps in (("bar", range(1, 5)), ("terrace", range(5, 9)))
]


def taps(*warm):
    return [f"beer_temperature_at_tap[{tap}] {50 if tap in warm else 38} degF" for tap in range(1, 9)]


def test_all_taps_of_one_trunk_are_no_single_tap(triage):
    answer = triage(*taps(5, 6, 7, 8), "cooler_temperature 36 degF", "bath_temperature 29 degF",
                    unit=unit(trunks=TRUNKS))  # fmt: skip

    assert ranked(answer)[0] == "trunk_short_of_flow"
    assert share(answer, "one_tap_only") < 0.15


def test_one_tap_beside_cold_ones_of_its_trunk_is_no_trunk(triage):
    answer = triage(*taps(5), "cooler_temperature 36 degF", "bath_temperature 29 degF", unit=unit(trunks=TRUNKS))

    assert share(answer, "trunk_short_of_flow") < 0.05
    assert share(answer, "one_tap_only", "keg_not_cold") > 0.7


def test_a_call_about_warm_beer_from_a_unit_in_order_may_be_about_a_tap_that_was_not_read(triage):
    lines = (*circuit(suction="16 psi", line="27.3 degF", head="131 psi", liquid="94.2 degF", out="96.2 degF"),
             "cooler_temperature 36 degF", "beer_temperature_at_tap[1] 37 degF")  # fmt: skip
    answer = triage(*lines, unit=unit(trunks=TRUNKS))
    every = triage(*lines, *(f"beer_temperature_at_tap[{tap}] 37 degF" for tap in range(2, 9)),
                   unit=unit(trunks=TRUNKS))  # fmt: skip

    assert ranked(answer)[0] in ("one_tap_only", "keg_not_cold")
    assert share(every, "one_tap_only") < 0.5 * share(answer, "one_tap_only")


def test_a_compressor_that_runs_uncalled_under_a_cold_bath_has_a_stuck_contact(triage):
    answer = triage("bath_temperature 22 degF", "controller_temperature 22 degF", "controller_set_point 28 degF",
                    "current[compressor-1] 6 A", seen=("-calling_for_cooling", "compressor_running"),
                    symptom="frozen")  # fmt: skip

    assert ranked(answer)[0] == "compressor_does_not_stop"


def test_a_sensor_that_hangs_out_of_the_bath(triage):
    answer = triage("bath_temperature 19 degF", "controller_temperature 46 degF", "controller_set_point 28 degF",
                    "current[compressor-1] 6 A", "glycol_strength 25 Brix ~68 degF",
                    seen=("calling_for_cooling",), symptom="frozen")  # fmt: skip

    assert share(answer, "thermometer_wrong") > 0.5


def test_a_seized_pump_is_named_and_its_current_not_doubted(triage):
    answer = triage("current[pump-1] 24 A", "bath_temperature 28 degF", "beer_temperature_at_tap[1] 58 degF",
                    "cooler_temperature 36 degF", seen=("-glycol_returning",), symptom="no_flow")  # fmt: skip

    assert ranked(answer)[0] == "pump_stopped"
    assert not answer.suspect


def test_a_fan_that_drags_differs_from_dirt_by_its_current(triage):
    lines = ("bath_temperature 36 degF", "condenser_air_in_temperature 85 degF", "suction_pressure 24 psi",
             "condenser_air_out_temperature 113 degF", "discharge_pressure 205 psi",
             "liquid_line_temperature 118 degF")  # fmt: skip
    slow = triage(*lines, "current[fan-1] 1.35 A", seen=("-condenser_dirty",))
    dirty = triage(*lines, "current[fan-1] 0.8 A", seen=("condenser_dirty",))

    assert share(slow, "condenser_fan_stopped") > 0.7
    assert ranked(dirty)[0] == "condenser_fouled"


def test_an_open_contactor_speaks_for_what_opens_it(triage):
    known = unit(components=[*RECORD["components"], {"code": "contactor-1", "kind": "contactor"}])
    lines = ("bath_temperature 52 degF", "current[compressor-1] 0 A", "voltage_before[contactor-1] 118 V")
    opened = triage(*lines, "voltage_behind[contactor-1] 0 V", unit=known)
    closed = triage(*lines, "voltage_behind[contactor-1] 118 V", unit=known)

    code = "controller_dark_or_not_calling"
    assert share(opened, code) > 3.0 * share(closed, code)


def test_a_voltage_that_is_off_and_a_hot_terminal_are_no_wrong_readings(triage):
    answer = triage("supply_voltage 101 V", "current[compressor-1] 10.9 A", "bath_temperature 33 degF",
                    "terminal_temperature[switch-1] 160 degF", symptom="alarm")  # fmt: skip

    assert not any("does not fit" in each for each in answer.suspect if "voltage" in each or "terminal" in each)


def test_a_cause_that_leads_alone_and_beside_others_counts_with_all_of_it():
    lines = ("cooler_temperature 52 degF", "keg_temperature 50 degF", "bath_temperature 30 degF",
             "beer_temperature_at_tap[1] 45 degF", "current[compressor-1] 7 A")  # fmt: skip
    found = likely_cause(question(*lines))

    assert found is not None
    assert found.figures["explanations"] == "cooler_warm"
    assert found.advice.startswith("Have the cooler serviced")


# A bath that nothing cools goes to the room's temperature, and over it by the pump: calculated, a third of a horsepower
# warms 10 gal by 11 degF in an hour.
def test_a_locked_rotor_in_a_unit_that_has_stood_for_days_is_no_dark_controller(triage):
    answer = triage("beer_temperature_at_tap[4] 82 degF", "glycol_return_temperature 90 degF",
                    "ambient_temperature 68 degF", "suction_pressure 65 psi", "discharge_pressure 69 psi",
                    "current[compressor-1] 55.8 A", "current[fan-1] 0 A", "supply_voltage 120 V",
                    seen=("-display_dark", "-compressor_running", "compressor_clicking"))  # fmt: skip

    assert ranked(answer)[0].startswith("compressor_not_starting")
    assert share(answer, "controller_dark_or_not_calling") < 0.1


def test_a_sound_unit_whose_fan_is_cycled_in_cold_air_is_not_overcharged(triage):
    # The head is held at 86 degF of saturation, so that the liquid 8 degF above the air is 33 degF below that.
    answer = triage("bath_temperature 28.7 degF", "suction_pressure 11.6 psi", "suction_line_temperature 28 degF",
                    "discharge_pressure 87.6 psi", "liquid_line_temperature 52.6 degF", "ambient_temperature 44 degF",
                    "condenser_air_in_temperature 44 degF", "condenser_air_out_temperature 64.5 degF",
                    symptom=None)  # fmt: skip

    assert ranked(answer)[0] == "nothing_wrong"
    assert share(answer, "overcharge", "non_condensable_gas") < 0.15


# Fan and compressor are switched together: where one runs and the other stands, it is no unit at rest.
def test_a_fan_that_stands_beside_a_running_compressor_is_the_fan(triage):
    answer = triage(seen=("compressor_running", "-fan_turning"))

    assert ranked(answer)[0] == "condenser_fan_stopped"
    assert share(answer, "condenser_fan_stopped") > 5.0 * share(answer, "pump_stopped")


def test_a_display_that_shows_a_temperature_has_power(triage):
    seen = ("all_taps_warm", "-glycol_returning", "-pump_running", "-compressor_running")
    answer = triage("controller_temperature 28.5 degF", seen=seen)

    assert ranked(answer)[0] == "pump_stopped"
    assert share(answer, "no_power") < 0.05
    assert answer.state != "off"


def test_equal_pressures_beside_a_current_without_times_are_no_restriction(triage):
    lines = ("bath_temperature 52 degF", "suction_pressure 48 psi", "discharge_pressure 50 psi",
             "condenser_air_in_temperature 80 degF", "current[compressor-1] 5.4 A")  # fmt: skip
    answer = triage(*lines)

    assert ranked(answer)[0] == "compressor_weak"
    assert share(answer, "restriction") < 0.1
    assert any("pressure" in each for each in answer.suspect)


# Check case: lines cleaned half an hour ago with the glycol off, first pint 60 °F, third 40 °F, bath 29 °F.
def test_lines_that_were_just_cleaned_explain_warm_first_glasses(triage):
    lines = ("bath_temperature 29 degF", "cooler_temperature 36 degF", "beer_temperature_at_tap[1] 58 degF")
    answer = triage(*lines, seen=("lines_cleaned_today", "first_glass_warm"))

    assert ranked(answer)[0] == "lines_just_cleaned"
    assert "Nothing to repair" in answer.explanations[0].remedy
    assert share(triage(*lines), "lines_just_cleaned") < 0.2


def test_of_glasses_from_one_tap_the_last_counts_and_the_first_stood_in_the_line(triage):
    lines = ("bath_temperature 29 degF @0", "cooler_temperature 36 degF", "beer_temperature_at_tap[1] 60 degF @5")
    first, third = triage(*lines), triage(*lines, "beer_temperature_at_tap[1] 39 degF @12")

    assert share(third, "pump_stopped", "no_power") < 0.25 * share(first, "pump_stopped", "no_power")


def test_a_pump_whose_coupling_broke_draws_nearly_its_usual_current(triage):
    answer = triage("bath_temperature 27 degF", "cooler_temperature 36 degF", "beer_temperature_at_tap[1] 54 degF",
                    "current[pump-1] 4.4 A", seen=("-glycol_returning", "pump_running"))  # fmt: skip

    assert ranked(answer)[0] == "pump_stopped"


def test_a_second_fault_that_no_reading_bears_on_is_not_named_beside_a_locked_rotor():
    lines = ("current[compressor-1] 57 A", "bath_temperature 58 degF", "supply_voltage 117 V", "current[fan-1] 0.95 A")
    found = likely_cause(question(*lines))

    assert found is not None
    assert found.figures["explanations"] == "compressor_not_starting"
    assert "second" not in found.figures
