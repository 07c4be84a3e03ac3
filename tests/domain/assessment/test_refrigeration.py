"""Pressures, line temperatures, frost and the condenser, against charts and published limits."""

import pytest

R134A = {"refrigeration": {"refrigerant": "R-134a", "clean_split": "25 deltaF"}}


def fahrenheit(figure):
    return figure.value * 1.8 - 459.67


# R-134a pressure-temperature chart citing NIST REFPROP: 18.4 psig at 20 °F, 124.2 psig at 100 °F; 0.2 psi.
def test_saturation_is_that_of_the_chart(said):
    told = said("suction_pressure 18.4 psi", "discharge_pressure 124.2 psi", known=R134A)["saturation"]

    assert fahrenheit(told.figures["evaporating"]) == pytest.approx(20.0, abs=0.3)
    assert fahrenheit(told.figures["condensing"]) == pytest.approx(100.0, abs=0.2)


# Packaged chiller manual CG-SVX038A, p. 39: superheat 10 to 20 °F at the compressor.
@pytest.mark.parametrize(("line", "code"), [(29, "superheat_low"), (31, "superheat_good"), (41, "superheat_high")])
def test_superheat_is_judged_by_10_to_20_degrees(said, line, code):
    told = said("suction_pressure 18.4 psi", f"suction_line_temperature {line} degF", known=R134A)

    assert told[code].figures["superheat"].value * 1.8 == pytest.approx(line - 20, abs=0.3)


# A blend with glide: subcooling counts from bubble. R-449A at 100 °F: 240.74 psig (CoolProp, outside this project).
def test_subcooling_counts_from_the_bubble_temperature(said):
    known = {"refrigeration": {"refrigerant": "R449A"}}
    told = said("discharge_pressure 240.74 psi", "liquid_line_temperature 88 degF", known=known)["subcooling_good"]

    assert told.figures["subcooling"].value * 1.8 == pytest.approx(12.0, abs=0.2)


# Common practice, no source.
@pytest.mark.parametrize(
    ("frost", "code"), [("2 in", "frost_normal"), ("0 in", "frost_normal"), ("-1 in", "frost_on_capillary")]
)
def test_frost_two_inches_past_the_end_is_normal_and_on_the_capillary_it_is_not(said, frost, code):
    assert code in said(f"frost_distance_after_capillary {frost}")


def test_frost_seen_on_the_capillary_needs_no_distance(said):
    told = said(observations=[{"code": "frost_on_capillary"}])["frost_on_capillary"]

    assert told.severity == "act"
    assert "restricted capillary" in told.sentence


def test_frost_says_nothing_where_a_valve_meters(said):
    valve = {"refrigeration": {"metering": "expansion_valve"}}

    assert said("frost_distance_after_capillary -2 in", known=valve) == {}


# Common practice, no source: alarm at 10 °F over this unit's own clean split. 110 °F condensing is 146.38 psig.
@pytest.mark.parametrize(
    ("air", "code"), [(84, "condenser_split_good"), (78, "condenser_split_rising"), (74, "condenser_split_high")]
)
def test_the_split_is_judged_by_the_units_own_clean_one(said, air, code):
    told = said("discharge_pressure 146.38 psi", f"condenser_air_in_temperature {air} degF", known=R134A)

    assert told[code].figures["excess"].value * 1.8 == pytest.approx(110 - air - 25, abs=0.1)


# CoolProp outside this project: R-134a, 15 °F evaporating, 105 to 125 °F: 11.2 % less capacity, 18.0 % more power.
def test_what_a_warm_condenser_costs_is_told(said):
    readings = ("suction_pressure 15.04 psi", "discharge_pressure 184.64 psi", "condenser_air_in_temperature 80 degF")
    told = said(*readings, known=R134A)["condenser_split_high"]

    assert told.figures["capacity_lost"].value == pytest.approx(0.112, abs=0.003)
    assert told.figures["power_added"].value == pytest.approx(0.180, abs=0.003)
    assert "11 % less cooling at 18 % more power" in told.sentence


def test_without_suction_or_bath_the_cost_is_left_out(said):
    told = said("discharge_pressure 184.64 psi", "condenser_air_in_temperature 80 degF", known=R134A)[
        "condenser_split_high"
    ]

    assert "capacity_lost" not in told.figures


def test_a_condenser_cleaned_since_is_only_to_be_read_again(said):
    cleaned = [{"task": "condenser_clean", "result": "done", "as_found": "blocked"}]
    readings = ("discharge_pressure 184.64 psi found", "condenser_air_in_temperature 80 degF found")
    told = said(*readings, known=R134A, tasks=cleaned)["condenser_split_high"]

    assert (told.severity, "again" in told.advice) == ("note", True)


def test_an_unknown_refrigerant_is_said_to_be_unknown(said):
    told = said("suction_pressure 18 psi", known={"refrigeration": {"refrigerant": "gas"}})

    assert set(told) == {"refrigerant_unknown"}
