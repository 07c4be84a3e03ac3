"""The quantities that a visit may report, and what can be believed of them."""

import pint
import pytest

from service.domain.quantities import DIMENSIONS, parse_quantity
from service.domain.record.readings import BY_WORD, QUANTITIES, implausible, limit_of

# The list of the contract.
WORDS = {
    "bath_temperature", "glycol_supply_temperature", "glycol_return_temperature", "beer_temperature_at_tap",
    "cooler_temperature", "ambient_temperature", "condenser_air_in_temperature", "condenser_air_out_temperature",
    "current", "terminal_temperature", "contact_voltage_drop", "supply_voltage", "glycol_strength", "glycol_ph",
    "bath_level", "suction_pressure", "discharge_pressure", "suction_line_temperature", "liquid_line_temperature",
    "frost_distance_after_capillary",
}  # fmt: skip


def beyond(word: str, text: str) -> str | None:
    return implausible(word, parse_quantity(text, *BY_WORD[word].dimensions))


def test_every_word_of_the_contract_is_known() -> None:
    assert set(BY_WORD) >= WORDS


def test_what_is_read_at_a_component_or_a_tap_says_so() -> None:
    at_component = {quantity.word for quantity in QUANTITIES if quantity.of_component}

    assert at_component == {"current", "terminal_temperature", "contact_voltage_drop"}
    assert {quantity.word for quantity in QUANTITIES if quantity.at_tap} == {"beer_temperature_at_tap"}


@pytest.mark.parametrize(("word", "dimension"), [(q.word, d) for q in QUANTITIES for d in q.dimensions])
def test_every_span_has_a_low_and_a_high_end_of_its_own_dimension(word: str, dimension: str) -> None:
    limit = limit_of(word, dimension)

    assert limit.low.value < limit.high.value
    assert limit.low.dimension == limit.high.dimension == dimension


@pytest.mark.parametrize(("word", "dimension"), [(q.word, d) for q in QUANTITIES for d in q.dimensions])
def test_the_ends_of_a_span_are_believed_and_what_lies_beyond_is_not(word: str, dimension: str) -> None:
    for end, away in ((limit_of(word, dimension).low, -1), (limit_of(word, dimension).high, 1)):
        number, unit = end.entered.split()

        assert implausible(word, parse_quantity(end.entered, dimension)) is None
        assert "believable from" in str(implausible(word, parse_quantity(f"{float(number) + away} {unit}", dimension)))


# Readings of the field, with where such a value can stand: all of them must be accepted.
@pytest.mark.parametrize(
    ("word", "text"),
    [
        ("bath_temperature", "80 degF"),  # a bath found warm after a dead night
        ("bath_temperature", "28 degF"),  # a usual set point
        ("beer_temperature_at_tap", "54 degF"),
        ("ambient_temperature", "120 degF"),  # an attic or a roof in summer
        ("condenser_air_out_temperature", "60 degC"),
        ("current", "0 A"),
        ("suction_pressure", "-10 inHg"),  # a circuit in vacuum
        ("glycol_strength", "24.5 Brix"),
        ("glycol_strength", "10 degF"),  # told as a freezing point
        ("glycol_strength", "33 vol%"),
        ("glycol_ph", "8.5 pH"),
        ("bath_level", "110 %"),  # overfilled
    ],
)
def test_what_is_met_in_the_field_is_believed(word: str, text: str) -> None:
    assert beyond(word, text) is None


@pytest.mark.parametrize(
    ("word", "text"),
    [
        ("bath_temperature", "300 degF"),
        ("bath_temperature", "80 degC"),
        ("current", "-1 A"),
        ("supply_voltage", "11500 V"),
        ("glycol_ph", "14.1 pH"),
        ("suction_pressure", "-20 psi"),  # below a perfect vacuum, -14.696 psi gauge (NIST SP 811)
        ("glycol_strength", "101 mass%"),
    ],
)
def test_what_nature_does_not_allow_is_not_believed(word: str, text: str) -> None:
    assert beyond(word, text) is not None


def test_a_limit_is_told_as_it_was_written() -> None:
    assert beyond("bath_temperature", "300 degF") == "bath_temperature is believable from -40 degF to 140 degF"


def test_the_limits_of_liquids_are_the_temperatures_they_say() -> None:
    registry = pint.UnitRegistry()
    kelvin = [registry.Quantity(degrees, "degF").to("kelvin").magnitude for degrees in (-40, 140)]
    limit = limit_of("bath_temperature", "temperature")

    assert [limit.low.value, limit.high.value] == pytest.approx(kelvin)


def test_every_dimension_is_one_that_can_be_read() -> None:
    assert {dimension for quantity in QUANTITIES for dimension in quantity.dimensions} <= set(DIMENSIONS)
