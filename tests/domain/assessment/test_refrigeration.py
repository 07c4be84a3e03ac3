"""Pressures, line temperatures, frost and the condenser, against charts and published limits."""

import pytest

from service.domain.assessment.assess import assess

from .conftest import unit, visit

R134A = {"refrigeration": {"refrigerant": "R-134a", "clean_split": "25 deltaF"}}


def fahrenheit(figure):
    return figure.value * 1.8 - 459.67


# R-134a pressure-temperature chart citing NIST REFPROP: 18.4 psig at 20 °F, 124.2 psig at 100 °F; 0.2 psi.
def test_saturation_is_that_of_the_chart(findings):
    found = findings("suction_pressure 18.4 psi", "discharge_pressure 124.2 psi", known=R134A)["saturation"]

    assert fahrenheit(found.figures["evaporating"]) == pytest.approx(20.0, abs=0.3)
    assert fahrenheit(found.figures["condensing"]) == pytest.approx(100.0, abs=0.2)


# Packaged chiller manual CG-SVX038A, p. 39: superheat 10 to 20 °F at the compressor.
@pytest.mark.parametrize(("line", "code"), [(26, "superheat_low"), (31, "superheat_good"), (45, "superheat_high")])
def test_superheat_is_judged_by_10_to_20_degrees(findings, line, code):
    found = findings("suction_pressure 18.4 psi", f"suction_line_temperature {line} degF", known=R134A)

    assert found[code].figures["superheat"].value * 1.8 == pytest.approx(line - 20, abs=0.3)


# A blend with glide: subcooling counts from bubble. R-449A at 100 °F: 240.74 psig (CoolProp, outside this project).
def test_subcooling_counts_from_the_bubble_temperature(findings):
    known = {"refrigeration": {"refrigerant": "R449A"}}
    found = findings("discharge_pressure 240.74 psi", "liquid_line_temperature 88 degF", known=known)["subcooling_good"]

    assert found.figures["subcooling"].value * 1.8 == pytest.approx(12.0, abs=0.2)


# Common practice, no source.
@pytest.mark.parametrize(
    ("frost", "code"), [("2 in", "frost_normal"), ("0 in", "frost_normal"), ("-1 in", "frost_on_capillary")]
)
def test_frost_two_inches_past_the_end_is_normal_and_on_the_capillary_it_is_not(findings, frost, code):
    assert code in findings(f"frost_distance_after_capillary {frost}")


def test_frost_seen_on_the_capillary_needs_no_distance(findings):
    found = findings(observations=[{"code": "frost_on_capillary"}])["frost_on_capillary"]

    assert found.severity == "act"
    assert "restricted capillary" in found.sentence


def test_frost_gives_no_finding_where_a_valve_meters(findings):
    valve = {"refrigeration": {"metering": "expansion_valve"}}

    assert findings("frost_distance_after_capillary -2 in", known=valve) == {}


# Common practice, no source: alarm at 10 °F over this unit's own clean split. 110 °F condensing is 146.38 psig.
@pytest.mark.parametrize(
    ("air", "code"), [(84, "condenser_split_good"), (78, "condenser_split_rising"), (66, "condenser_split_high")]
)
def test_the_split_is_judged_by_the_units_own_clean_one(findings, air, code):
    found = findings("discharge_pressure 146.38 psi", f"condenser_air_in_temperature {air} degF", known=R134A)

    assert found[code].figures["excess"].value * 1.8 == pytest.approx(110 - air - 25, abs=0.1)


# CoolProp outside this project: R-134a, 15 °F evaporating, 105 to 125 °F: 11.2 % less capacity, 18.0 % more power, and
# pressure ratios of 5.032 and 6.701. With 4 % clearance the compressor draws in
# 1 - 0.04 (ratio^(1/1.1) - 1): 5.9 % less.
def test_the_loss_from_a_warm_condenser_is_given(findings):
    readings = ("suction_pressure 15.04 psi", "discharge_pressure 184.64 psi", "condenser_air_in_temperature 80 degF")
    found = findings(*readings, known=R134A)["condenser_split_high"]

    assert found.figures["capacity_lost"].value == pytest.approx(1.0 - 0.888 * 0.941, abs=0.004)
    assert found.figures["power_added"].value == pytest.approx(1.180 * 0.941 - 1.0, abs=0.004)
    assert "about 16 % less cooling, 11 % more power" in found.sentence


# 27.9 degC and a clean split of 27 deltaF add up to 316.05 K, half-way between two tenths.
def test_the_loss_does_not_depend_on_the_last_bit_of_a_temperature(findings):
    known = {"refrigeration": {"refrigerant": "R-404A", "clean_split": "27 deltaF"}}
    pressure = ("bath_temperature -2.7 degC", "discharge_pressure 2004 kPa")
    found = [
        findings(*pressure, f"condenser_air_in_temperature {air} degC", known=known)["condenser_split_rising"]
        for air in (27.9, 27.8999999999, 27.9000000001)
    ]

    assert len({each.figures["capacity_lost"].value for each in found}) == 1


def test_without_suction_or_bath_the_cost_is_left_out(findings):
    found = findings("discharge_pressure 184.64 psi", "condenser_air_in_temperature 80 degF", known=R134A)[
        "condenser_split_high"
    ]

    assert "capacity_lost" not in found.figures


def test_a_condenser_cleaned_since_is_only_to_be_read_again(findings):
    cleaned = [{"task": "condenser_clean", "result": "done", "as_found": "blocked"}]
    readings = ("discharge_pressure 184.64 psi found", "condenser_air_in_temperature 80 degF found")
    found = findings(*readings, known=R134A, tasks=cleaned)["condenser_split_high"]

    assert (found.severity, "again" in found.advice) == ("note", True)


def test_an_unknown_refrigerant_is_reported_as_unknown(findings):
    found = findings("suction_pressure 18 psi", known={"refrigeration": {"refrigerant": "gas"}})

    assert set(found) == {"refrigerant_unknown"}


# At rest the liquid gathers in the coldest part: R-134a at 29 degF is at 25.3 psig (CoolProp 8). A model of a circuit
# with 1 bar of air keeps 33 psig; gas spreads over the whole circuit when it stands.
@pytest.mark.parametrize(("psi", "gas"), [(25.3, False), (27.5, False), (33.0, True)])
def test_pressures_at_rest_over_that_of_the_bath_may_be_gas(psi, gas):
    body = visit(f"suction_pressure {psi} psi", f"discharge_pressure {psi} psi", "bath_temperature 29 degF")
    found = assess(body, unit(**R134A), "us", elevation=0.0)

    assert ("gas_at_rest" in {each.code for each in found.findings}) is gas


# The same gauges a mile up, where the air weighs 2.6 psi less (standard atmosphere): 27.9 psig at 29 degF.
def test_where_the_elevation_is_unknown_pressures_as_of_a_mile_up_are_no_gas(findings):
    readings = ("suction_pressure 27.9 psi", "discharge_pressure 27.9 psi", "bath_temperature 29 degF")

    assert "gas_at_rest" not in findings(*readings, known=R134A)


@pytest.mark.parametrize(("air", "usual"), [(85, False), (95, True)])
def test_no_superheat_is_called_usual_in_hot_air_alone(findings, air, usual):
    readings = ("suction_pressure 17.7 psi", "suction_line_temperature 18.9 degF", "bath_temperature 29 degF")
    found = findings(*readings, f"condenser_air_in_temperature {air} degF", known=R134A)["superheat_none"]

    assert ("usual on a hot day" in found.sentence) is usual
