"""What one finding says of another: a cause that is known explains the rest, a slip of writing is named, and what was
found clean is not to be cleaned. Expected conclusions: common practice, no source, where no other is named. R-134a:
131 psi is saturated at 103 °F, 16 psi at 16.5 °F, 52 psi at 56 °F (pressure-temperature chart)."""

import pytest

from service.domain.assessment.assess import assess
from service.domain.physics.refrigeration.capacity import capacity_share
from service.domain.physics.refrigeration.refrigerants import refrigerant
from tests.domain.assessment.conftest import unit, visit
from tests.domain.assessment.test_measured import UNIT

RUNS = "current[comp-1] 7 A"
HEALTHY = ("suction_pressure 16 psi", "discharge_pressure 131 psi", "suction_line_temperature 27.3 degF",
           "liquid_line_temperature 94.2 degF", "bath_temperature 29 degF", RUNS)  # fmt: skip
AIRS = ("condenser_air_in_temperature 85 degF", "condenser_air_out_temperature 95.2 degF")
CLEAN = [{"task": "condenser_clean", "result": "done", "as_found": "clean"}]


def assessed(*readings, elevation=0.0, known=UNIT, **more):
    found = assess(visit(*(f"{each} found" for each in readings), **more), unit(**known), "us", elevation)
    return found, {each.code: each for each in found.findings}


# A steady capillary model of another make, clean split 18 °F: sound units warm their air by 11 °F at 85 °F, 8 at 40.
@pytest.mark.parametrize(
    ("head", "suction", "airs"),
    [("131", "16", (85, 95.2)), ("52", "4.2", (40, 47.5)), ("183", "18.2", (108, 117.6))],
)
def test_the_air_rise_of_a_sound_unit_is_no_note_in_any_air(head, suction, airs):
    air, out = airs
    found, codes = assessed(f"discharge_pressure {head} psi", f"suction_pressure {suction} psi", RUNS,
                            "bath_temperature 29 degF", f"condenser_air_in_temperature {air} degF",
                            f"condenser_air_out_temperature {out} degF")  # fmt: skip

    assert codes["air_rise_good"].severity == "fine"
    assert codes["condenser_split_good"].severity == "fine"
    assert found.first == ("Everything that was measured is in order.",)


# The same model: 20 % less through a capillary in air of 45 °F, 18 % less at 40; a valve loses nothing.
@pytest.mark.parametrize(("air", "share"), [(45, 0.80), (40, 0.82)])
def test_a_capillary_feeds_less_in_cold_air(air, share):
    kelvin = [(each + 459.67) / 1.8 for each in (29, 85, air)]
    bath, rated, ambient = kelvin
    cold = {
        metering: capacity_share(
            refrigerant("R-134a"), rated_bath=bath, bath=bath, rated_ambient=rated, ambient=ambient, metering=metering
        )
        for metering in ("capillary", "expansion_valve")
    }

    assert cold["capillary"] == pytest.approx(share, abs=0.06)
    assert cold["expansion_valve"] >= 0.98


def test_an_air_rise_in_cold_air_asks_for_no_cleaning():
    # a control slows the fan: head held at 84 °F (98 psi), the air warmed by 33 °F
    _, codes = assessed("discharge_pressure 98 psi", "suction_pressure 12 psi", RUNS, "bath_temperature 29 degF",
                        "condenser_air_in_temperature 20 degF", "condenser_air_out_temperature 53 degF")  # fmt: skip

    assert "clean" not in str(codes["air_rise_high"].advice)


# Case of a reference cycle: condenser without its fan, condensing 150 °F (261 psi), no subcooling.
def test_a_fan_that_stands_explains_the_circuit_and_nothing_is_to_be_cleaned_or_leaks():
    lines = ("suction_line_temperature 24 degF", "liquid_line_temperature 150 degF", "bath_temperature 40 degF")
    found, codes = assessed("discharge_pressure 261 psi", "suction_pressure 20 psi", *lines, RUNS, "current[fan-1] 0 A",
                            AIRS[0], "condenser_air_out_temperature 146 degF")  # fmt: skip

    assert codes["fan_stands"].severity == "act"
    assert not codes.keys() & {"subcooling_low", "superheat_none", "low_charge_fits", "evaporator_far_under_bath"}
    assert not any("lean the condenser" in str(each.advice) or "leak" in str(each.advice) for each in found.findings)


# Signs by Rossi and Braun: a leak raises the superheat; a weak compressor, ice and short air lower both.
@pytest.mark.parametrize(("line", "leak"), [("18", False), ("34", True)])
def test_little_subcooling_without_superheat_is_no_low_charge(line, leak):
    lines = (f"suction_line_temperature {line} degF", "liquid_line_temperature 97 degF", "bath_temperature 33 degF")
    _, codes = assessed("discharge_pressure 119 psi", "suction_pressure 16 psi", *lines, RUNS, AIRS[0])

    assert ("look for oil stains and leaks" in str(codes["subcooling_low"].advice)) is leak


def test_a_condenser_found_clean_is_not_called_dirty_nor_worked_on():
    _, codes = assessed("discharge_pressure 165 psi", "suction_pressure 17 psi", RUNS, "bath_temperature 30 degF",
                        AIRS[0], "condenser_air_out_temperature 109 degF", tasks=CLEAN)  # fmt: skip

    assert codes["condenser_split_high"].severity == "act"
    assert str(codes["condenser_split_high"].advice).startswith("It was found clean")
    assert not any("lean the condenser" in str(each.advice) for each in codes.values())


@pytest.mark.parametrize("quantity", ["condenser_air_in_temperature", "ambient_temperature"])
def test_air_in_celsius_entered_as_fahrenheit_is_asked_about(quantity):
    found, codes = assessed(*HEALTHY, f"{quantity} 29 degF", "condenser_air_out_temperature 95.2 degF")

    assert "29 °C is 84.2 °F" in str(codes["condenser_split_unjudged"].advice)
    assert "29 °C is 84.2 °F" in found.first[0]
    assert not any("lean the condenser" in str(each.advice) for each in codes.values())


def test_air_that_is_cold_beside_a_condenser_as_cold_is_not_doubted():
    _, codes = assessed("discharge_pressure 52 psi", "suction_pressure 4 psi", RUNS, "bath_temperature 29 degF",
                        "condenser_air_in_temperature 40 degF")  # fmt: skip

    assert not any("°C" in f"{each.sentence}{each.advice}" for each in codes.values())


@pytest.mark.parametrize(
    ("bath", "supply", "hint"),
    [
        ("82 degF", "28.4 degF", "digits exchanged (28)"),
        ("28 degC", "28.4 degF", "28 degC would agree if it was read in °F"),
    ],
)
def test_a_slip_that_would_make_two_readings_agree_is_named(bath, supply, hint):
    _, codes = assessed(f"bath_temperature {bath}", f"glycol_supply_temperature {supply}")

    assert hint in codes["readings_contradict"].sentence


def test_a_decimal_point_may_be_as_wrong_as_the_unit():
    _, codes = assessed("bath_temperature 2.8 degF", "glycol_supply_temperature 28.3 degF")

    assert "the unit or the decimal point" in codes["unit_doubtful"].sentence


@pytest.mark.parametrize(
    ("pump", "tap", "doubted"), [("4 A", "37", True), ("0 A", "37", False), ("4 A", "55", False), ("4 A", "42", False)]
)
def test_a_bath_that_would_warm_beer_that_pours_cold_is_doubted(pump, tap, doubted):
    _, codes = assessed("bath_temperature 82 degF", f"beer_temperature_at_tap[1] {tap} degF", f"current[pump-1] {pump}")

    assert ("readings_contradict" in codes) is doubted
    assert ("bath_warm" in codes) is not doubted


def as_left(found, left, **more):
    asked = visit(f"bath_temperature {found} degF found", "current[comp-1] 0 A found", f"bath_temperature {left} degF",
                  RUNS, **more)  # fmt: skip
    return {each.code: each for each in assess(asked, unit(**UNIT), "us").findings if each.moment == "as_found"}


def test_what_is_still_not_in_order_as_left_is_not_called_better():
    found = [str(each.advice) for each in as_left(50, 47).values()]

    assert "It was read again: see the reading as left." in found
    assert not any("better" in each or "in order" in each for each in found)


def test_as_left_before_as_found_nothing_is_said_to_be_in_order():
    asked = visit("bath_temperature 45 degF @60 found", "bath_temperature 33 degF @10")
    codes = {each.code: each for each in assess(asked, unit(**UNIT), "us").findings}

    assert str(codes["bath_warm"].advice) == "It was read again: see the reading as left."
    assert "times_contradict" in codes


# Locked rotor at six times the rating: NEC table 430.251(A). An overload and a start that failed stay found.
@pytest.mark.parametrize(
    ("first", "then", "code"),
    [("12 A", "8 A", "current_over_rating"), ("55 A", "0 A", "rotor_locked"), ("55 A", "8 A", None)],
)
def test_a_later_current_of_the_same_moment_hides_no_overload(first, then, code):
    _, codes = assessed(f"current[comp-1] {first} @1", f"current[comp-1] {then} @4", "bath_temperature 50 degF")

    assert {"current_over_rating", "rotor_locked"} & codes.keys() == ({code} if code else set())


def test_a_locked_rotor_beside_a_cold_bath_may_be_a_slip():
    cold, warm = (
        assessed("current[comp-1] 78 A", f"bath_temperature {bath} degF")[1]["rotor_locked"] for bath in (29, 60)
    )

    assert "7.8 A was meant" in str(cold.advice)
    assert str(warm.advice).startswith("Switch it off at once")


@pytest.mark.parametrize(("borne_out", "severity"), [(True, "act"), (False, "note")])
def test_a_compressor_that_pumps_nothing_comes_before_what_follows_from_it(borne_out, severity):
    airs = ("condenser_air_in_temperature 85 degF", f"condenser_air_out_temperature {85.5 if borne_out else 95} degF")
    found, codes = assessed("suction_pressure 55 psi @19", "discharge_pressure 57 psi @19", "current[comp-1] 6 A @19",
                            *airs, "bath_temperature 60 degF @0", "bath_temperature 60.5 degF @20")  # fmt: skip
    if not borne_out:
        found, codes = assessed("suction_pressure 55 psi", "discharge_pressure 57 psi", "current[comp-1] 6 A", *airs)

    assert codes["pressures_equal_running"].severity == severity
    assert "head and suction" in found.first[0]
    if not borne_out:
        assert "one of the two pressures is wrong" in codes["pressures_equal_running"].sentence
    else:
        assert "see first whether its compressor pumps" in str(codes["pull_down_not_cooling"].advice)


def test_a_switch_that_no_voltage_reaches_comes_before_the_warm_beer():
    found, codes = assessed("voltage_before[switch-1] 0 V", "voltage_behind[switch-1] 0 V", "current[comp-1] 0 A",
                            "beer_temperature_at_tap[1] 66 degF", "current[pump-1] 0 A", "bath_temperature 66 degF",
                            observations=[{"code": "display_dark"}])  # fmt: skip

    assert "the power stops before it" in found.first[0]
    assert codes["display_dark"].severity == "note"
    assert "If it should be running" not in str(codes["current_none"].advice)


def test_voltages_of_a_unit_that_was_locked_out_while_it_was_read_are_no_failure():
    _, codes = assessed("voltage_before[switch-1] 0 V", "voltage_behind[switch-1] 0 V", "current[comp-1] 8 A")

    assert "no_voltage_before" not in codes


# A unit that holds its bath carries its load, and in cool air no cooler air helps.
@pytest.mark.parametrize(("bath", "code"), [(29, "fine"), (45, "note")])
def test_the_capacity_of_a_unit_whose_bath_is_cold_is_enough(bath, code):
    _, codes = assessed(f"bath_temperature {bath} degF", RUNS, "ambient_temperature 50 degF")

    assert codes["capacity_low_today"].severity == code


def test_a_caution_alone_leaves_everything_in_order():
    known = UNIT | {"refrigeration": {"refrigerant": "R-290", "metering": "capillary"}}
    found, codes = assessed("bath_temperature 29 degF", known=known)

    assert "refrigerant_flammable" in codes
    assert found.first == ("Everything that was measured is in order.",)
    assert codes["refrigerant_flammable"].caution
    assert assessed(known=known)[0].first == ()  # nothing was measured


# Taking gauges off a circuit that they were on gives no charge back.
@pytest.mark.parametrize(("gauges", "advised"), [((), True), (("suction_pressure 8 psi",), False)])
def test_gauges_that_were_read_are_not_advised_against(gauges, advised):
    circuit = UNIT["refrigeration"] | {"charge": "200 g", "low_side_port": True, "high_side_port": True}
    _, codes = assessed("bath_temperature 60 degF @0", "bath_temperature 60 degF @25", RUNS, *gauges,
                        known=UNIT | {"refrigeration": circuit})  # fmt: skip

    assert ("auges" in str(codes["pull_down_not_cooling"].advice)) is advised


def test_a_dark_controller_whose_voltage_was_read_is_not_to_be_looked_for_its_supply():
    found, codes = assessed("voltage_at[stat-1] 118 V", observations=[{"code": "display_dark"}])

    assert codes["voltage_at_dead_controller"].severity == "stop"
    assert codes["display_dark"].severity == "note"
    assert not any("supply" in each for each in found.first)


# A compressor that starts after the gauges were read draws its current beside pressures and air of a unit at rest.
@pytest.mark.parametrize(
    ("gauges", "amps", "severity"),
    [(("@16",), "@18", "note"), (("",), "", "note"), (("@18",), "@18", "act"), (("@16", "@20"), "@18", "act")],
)
def test_a_compressor_is_not_condemned_by_pressures_from_before_it_started(gauges, amps, severity):
    read = [
        f"{line} {at}".strip() for at in gauges for line in ("suction_pressure 25 psi", "discharge_pressure 27 psi")
    ]
    _, codes = assessed(*read, f"current[comp-1] 6 A {amps}".strip(), "bath_temperature 31 degF",
                        "condenser_air_in_temperature 85 degF", "condenser_air_out_temperature 85 degF")  # fmt: skip

    assert codes["pressures_equal_running"].severity == severity
