"""The quantities that a visit may report, and the limits of what is plausible."""

import pint
import pytest

from service.domain.quantities import DIMENSIONS, parse_quantity
from service.domain.record.readings import BY_QUANTITY, READING_KINDS, implausible, limit_of

# The list of the contract.
QUANTITIES = {
    "bath_temperature", "glycol_supply_temperature", "glycol_return_temperature", "beer_temperature_at_tap",
    "cooler_temperature", "ambient_temperature", "condenser_air_in_temperature", "condenser_air_out_temperature",
    "current", "terminal_temperature", "contact_voltage_drop", "supply_voltage", "glycol_strength", "glycol_ph",
    "bath_level", "suction_pressure", "discharge_pressure", "suction_line_temperature", "liquid_line_temperature",
    "frost_distance_after_capillary", "glycol_flow", "pump_pressure",
}  # fmt: skip


def beyond(quantity: str, text: str) -> str | None:
    return implausible(quantity, parse_quantity(text, *BY_QUANTITY[quantity].dimensions))


def test_every_quantity_of_the_contract_is_known() -> None:
    assert set(BY_QUANTITY) >= QUANTITIES


def test_quantities_read_at_a_component_or_a_tap() -> None:
    at_component = {kind.quantity for kind in READING_KINDS if kind.of_component}

    assert at_component == {
        "current", "terminal_temperature", "contact_voltage_drop",
        "voltage_at", "voltage_before", "voltage_behind", "voltage_across",
    }  # fmt: skip
    assert {kind.quantity for kind in READING_KINDS if kind.at_tap} == {"beer_temperature_at_tap"}


@pytest.mark.parametrize(("quantity", "dimension"), [(k.quantity, d) for k in READING_KINDS for d in k.dimensions])
def test_every_span_has_a_low_and_a_high_end_of_its_own_dimension(quantity: str, dimension: str) -> None:
    limit = limit_of(quantity, dimension)

    assert limit.low.value < limit.high.value
    assert limit.low.dimension == limit.high.dimension == dimension


@pytest.mark.parametrize(("quantity", "dimension"), [(k.quantity, d) for k in READING_KINDS for d in k.dimensions])
def test_the_ends_of_a_span_are_plausible_and_values_beyond_are_not(quantity: str, dimension: str) -> None:
    for end, away in ((limit_of(quantity, dimension).low, -1), (limit_of(quantity, dimension).high, 1)):
        number, unit = end.entered.split()

        assert implausible(quantity, parse_quantity(end.entered, dimension)) is None
        assert "must be from" in str(implausible(quantity, parse_quantity(f"{float(number) + away} {unit}", dimension)))


# Readings of the field, with where such a value can stand: all of them must be accepted.
@pytest.mark.parametrize(
    ("quantity", "text"),
    [
        ("bath_temperature", "80 degF"),  # a bath found warm after a dead night
        ("bath_temperature", "28 degF"),  # a usual set point
        ("beer_temperature_at_tap", "54 degF"),
        ("ambient_temperature", "120 degF"),  # an attic or a roof in summer
        ("condenser_air_out_temperature", "60 degC"),
        ("current", "0 A"),
        ("suction_pressure", "-10 inHg"),  # a circuit in vacuum
        ("glycol_strength", "24.5 Brix"),
        ("glycol_strength", "10 degF"),  # as a freezing point
        ("glycol_strength", "33 vol%"),
        ("glycol_ph", "8.5 pH"),
        ("bath_level", "110 %"),  # overfilled
        ("glycol_flow", "100 gal/h"),  # a small pump, from memory
        ("glycol_flow", "0 L/min"),  # a seized pump
        ("pump_pressure", "150 psi"),  # a rotary vane pump against a long trunk, from memory
        ("pump_pressure", "-5 inHg"),  # read at the inlet of a starved pump
    ],
)
def test_what_is_met_in_the_field_is_plausible(quantity: str, text: str) -> None:
    assert beyond(quantity, text) is None


@pytest.mark.parametrize(
    ("quantity", "text"),
    [
        ("bath_temperature", "300 degF"),
        ("bath_temperature", "80 degC"),
        ("current", "-1 A"),
        ("supply_voltage", "11500 V"),
        ("glycol_ph", "14.1 pH"),
        ("glycol_flow", "-1 L/min"),
        ("pump_pressure", "-20 psi"),  # below a perfect vacuum, -14.696 psi gauge (NIST SP 811)
        ("suction_pressure", "-20 psi"),  # below a perfect vacuum, -14.696 psi gauge (NIST SP 811)
        ("glycol_strength", "101 mass%"),
    ],
)
def test_what_nature_does_not_allow_is_implausible(quantity: str, text: str) -> None:
    assert beyond(quantity, text) is not None


def test_a_limit_is_shown_as_it_was_written() -> None:
    assert beyond("bath_temperature", "300 degF") == "bath_temperature must be from -40 degF to 140 degF"


def test_the_limits_of_liquids_are_converted_right() -> None:
    registry = pint.UnitRegistry()
    kelvin = [registry.Quantity(degrees, "degF").to("kelvin").magnitude for degrees in (-40, 140)]
    limit = limit_of("bath_temperature", "temperature")

    assert [limit.low.value, limit.high.value] == pytest.approx(kelvin)


def test_every_dimension_is_one_that_can_be_read() -> None:
    assert {dimension for kind in READING_KINDS for dimension in kind.dimensions} <= set(DIMENSIONS)


def test_a_drop_over_fifty_volts_is_refused_with_the_quantity_of_an_open_contact() -> None:
    assert "voltage_across" in (beyond("contact_voltage_drop", "117 V") or "")
    assert beyond("voltage_across", "117 V") is None
