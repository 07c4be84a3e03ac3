"""Quantities: factors against published tables and pint, every refusal, and the round trip of our own answers."""

import contextlib
import math
from fractions import Fraction

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from service.domain.quantities import (
    DIMENSIONS,
    UNITS_BY_DIMENSION,
    Quantity,
    format_quantity,
    parse_quantity,
    show_quantity,
)
from service.domain.unit_scales import SCALES

EVERY_UNIT = [(dimension, unit) for dimension, units in UNITS_BY_DIMENSION.items() for unit in units]

# NIST Special Publication 811 (2008), Appendix B.8 "Factors for units listed alphabetically", as printed there: seven
# digits, fewer where the factor is exact. Btu is the International Table Btu, inHg the conventional one, hp is
# 550 ft lbf/s; L/min, L/h and gal/h are not rows of B.8 but follow from its litre, gallon, minute and hour.
NIST_FACTORS = [
    ("psi", "pressure", 6.894757e3),
    ("bar", "pressure", 1e5),
    ("inHg", "pressure", 3.386389e3),
    ("L", "volume", 1e-3),
    ("gal", "volume", 3.785412e-3),
    ("qt", "volume", 9.463529e-4),
    ("floz", "volume", 2.957353e-5),
    ("in", "length", 2.54e-2),
    ("ft", "length", 3.048e-1),
    ("lb", "mass", 4.535924e-1),
    ("oz", "mass", 2.834952e-2),
    ("hp", "power", 7.456999e2),
    ("Btu/h", "power", 2.930711e-1),
    ("gal/min", "volume_flow", 6.309020e-5),
    ("gal/h", "volume_flow", 3.785412e-3 / 3.6e3),
    ("L/min", "volume_flow", 1e-3 / 60),
    ("L/h", "volume_flow", 1e-3 / 3.6e3),
    ("min", "time", 60),
    ("h", "time", 3.6e3),
    ("d", "time", 8.64e4),
    ("deltaF", "temperature_difference", 1 / 1.8),
]

# The factor of a decimal prefix or of per cent: SI Brochure, 9th edition (2019), Table 7 and section 5.4.7.
PREFIXED = [
    ("kPa", "pressure", 1e3),
    ("mL", "volume", 1e-6),
    ("mm", "length", 1e-3),
    ("cm", "length", 1e-2),
    ("g", "mass", 1e-3),
    ("mA", "current", 1e-3),
    ("mV", "voltage", 1e-3),
    ("kW", "power", 1e3),
    ("mass%", "mass_fraction", 1e-2),
    ("vol%", "volume_fraction", 1e-2),
    ("%", "fraction", 1e-2),
]

# NIST SP 811 (2008), Appendix B.8: T/K = t/degC + 273.15 and T/K = (t/degF + 459.67)/1.8.
TEMPERATURES = [
    ("60 degF", (60 + 459.67) * 5 / 9),
    ("28 degF", (28 + 459.67) * 5 / 9),
    ("32 degF", 273.15),
    ("-40 degF", 233.15),
    ("-40 degC", 233.15),
    ("0 degC", 273.15),
    ("-459.67 degF", 0.0),
    ("300 K", 300.0),
]


@pytest.mark.parametrize(("unit", "dimension", "factor"), NIST_FACTORS + PREFIXED)
def test_unit_has_its_published_factor(unit, dimension, factor):
    assert parse_quantity(f"1 {unit}", dimension).value == pytest.approx(factor, rel=2.5e-7)


@pytest.mark.parametrize(("text", "kelvin"), TEMPERATURES)
def test_temperature_is_what_a_practitioner_works_out(text, kelvin):
    assert parse_quantity(text, "temperature").value == pytest.approx(kelvin, abs=1e-12)


def test_fahrenheit_is_converted_without_a_last_digit_of_difference():
    assert parse_quantity("60 degF", "temperature").value == (60 + 459.67) * 5 / 9


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize(("dimension", "unit"), EVERY_UNIT)
def test_every_unit_is_exactly_what_pint_defines(registry, dimension, unit):
    kind = DIMENSIONS[dimension]
    zero, one = (Fraction(registry.Quantity(Fraction(n), kind.units[unit]).to(kind.base).magnitude) for n in (0, 1))
    factor = one - zero
    assert SCALES[unit] == (float(zero / factor), float(factor.numerator), float(factor.denominator))


def test_scales_without_si_unit_are_kept_as_read():
    assert parse_quantity("24.5 Brix", "brix").value == 24.5
    assert parse_quantity("8.5 pH", "acidity").value == 8.5


@pytest.mark.parametrize("kind", DIMENSIONS.items(), ids=lambda kind: kind[0])
def test_example_and_shown_units_of_a_dimension_are_its_own(kind):
    name, dimension = kind
    assert parse_quantity(dimension.example, name).entered == dimension.example
    assert {dimension.si, dimension.us} <= set(UNITS_BY_DIMENSION[name])


@pytest.mark.parametrize("text", ["28 degF", "28degF", "28   degF", " 28 degF ", "+28 degF", "28.0 degF", "2.8e1 degF"])
def test_number_and_unit_may_be_written_in_the_usual_ways(text):
    assert parse_quantity(text, "temperature") == Quantity((28 + 459.67) * 5 / 9, "temperature", text.strip())


@pytest.mark.parametrize(
    ("number", "text"), [(28, "28"), (28.0, "28"), (28.05, "28.05"), (0.1, "0.1"), (1e-07, "1e-07")]
)
def test_number_and_unit_apart_are_entered_as_the_shortest_text(number, text):
    assert parse_quantity({"value": number, "unit": "degF"}, "temperature").entered == f"{text} degF"


def test_answer_of_ours_keeps_what_was_entered():
    answer = {"value": 8.33333, "unit": "degC", "entered": "47 degF"}
    assert parse_quantity(answer, "temperature") == parse_quantity("47 degF", "temperature")


@pytest.mark.parametrize("entered", ["48 degF", "8.33333 degF", "8.4 degC"])
def test_answer_that_contradicts_what_was_entered_is_refused(entered):
    with pytest.raises(ValueError, match=rf"'8.33333 degC' contradicts entered '{entered}'"):
        parse_quantity({"value": 8.33333, "unit": "degC", "entered": entered}, "temperature")


def test_dimension_asked_for_decides_what_kelvin_means():
    assert parse_quantity("4 K", "temperature").dimension == "temperature"
    assert parse_quantity("4 K", "temperature_difference").dimension == "temperature_difference"
    assert parse_quantity("4 K", "temperature_difference", "temperature").dimension == "temperature_difference"


def test_first_dimension_that_knows_the_unit_is_taken():
    strength = ("mass_fraction", "volume_fraction", "brix", "temperature")
    read = [parse_quantity(text, *strength) for text in ("35 mass%", "33 vol%", "24.5 Brix", "-16 degC")]
    assert [quantity.dimension for quantity in read] == list(strength)


# Common practice, no source: the names of units on gauges, nameplates and in notes.
AS_WRITTEN = [
    ("28 °F", "28 degF"), ("28F", "28 degF"), ("28 deg F", "28 degF"), ("28 degf", "28 degF"), ("-2 °C", "-2 degC"),
    ("60 psig", "60 psi"), ("60 PSI", "60 psi"), ("24.5 brix", "24.5 Brix"), ("24.5 °Bx", "24.5 Brix"),
    ("115 v", "115 V"), ("115 volts", "115 V"), ("5.8 amps", "5.8 A"), ("3 in.", "3 in"), ('3"', "3 in"),
    ("12 feet", "12 ft"), ("2 fl oz", "2 floz"), ("2 fl. oz.", "2 floz"), ("4 litres", "4 L"), ("4 l", "4 L"),
    ("10 gallons", "10 gal"), ("1 lbs", "1 lb"), ("5 gpm", "5 gal/min"), ("60 GPH", "60 gal/h"),
    ("2900 btu/hr", "2900 Btu/h"), ("80 percent", "80 %"), ("35 mass %", "35 mass%"), ("2 hrs", "2 h"),
    ("60 hz", "60 Hz"), ("pH 8.5", "8.5 pH"),
]  # fmt: skip


@pytest.mark.parametrize(("written", "ours"), AS_WRITTEN)
def test_units_are_read_as_people_write_them(written, ours):
    dimensions = [name for name, kind in DIMENSIONS.items() if ours.split()[1] in kind.units]
    read = parse_quantity(written, *dimensions)

    assert (read.value, read.dimension) == (parse_quantity(ours, *dimensions).value, dimensions[0])
    assert read.entered == written


@pytest.mark.parametrize("system", ["si", "us"])
@pytest.mark.parametrize(("dimension", "unit"), EVERY_UNIT)
def test_what_a_sentence_prints_is_read_again(dimension, unit, system):
    printed = format_quantity(parse_quantity(f"300 {unit}", dimension), system)
    if dimension == "temperature_difference":
        return  # printed as a temperature is

    assert parse_quantity(printed, dimension).dimension == dimension


@pytest.mark.parametrize(("text", "hint"), [("4 F", "deltaF"), ("4 °F", "deltaF"), ("4 degC", "deltaC")])
def test_a_difference_in_degrees_is_refused_with_a_hint(text, hint):
    with pytest.raises(ValueError, match=f"a difference is in {hint}"):
        parse_quantity(text, "temperature_difference")


@pytest.mark.parametrize("text", ["30 psia", "2 bara", "300 kPaa"])
def test_an_absolute_pressure_is_refused_by_its_name(text):
    with pytest.raises(ValueError, match="is an absolute pressure; pressures are what a gauge shows; write the number"):
        parse_quantity(text, "pressure")


def test_an_answer_keeps_the_unit_that_was_written_otherwise():
    shown = show_quantity(parse_quantity("2900 BTU/H", "power"), "us")

    assert shown == {"value": 2900, "unit": "Btu/h", "entered": "2900 BTU/H"}


@pytest.mark.parametrize("raw", [28, 28.5, "28", "-2.5", "2e1", 0, math.nan, math.inf])
def test_bare_number_is_refused_with_an_example(raw):
    with pytest.raises(ValueError, match=r'has no unit; .* "28 degF" \(units: degC, degF, K\)$'):
        parse_quantity(raw, "temperature")


@pytest.mark.parametrize(
    "raw",
    [
        True, None, [], ["28 degF"], {}, "", " ", "degF", "cold", "28 psi", "28 bushel", "28 deltaF",
        "28,5 degF", "28. degF", "2_8 degF", "--28 degF", "0x1c degF", "nan degF", "inf degF", "1e999 degF",
        "9**9**9 degF", "28 degF + 1 degF", "28 degF degF", "28\tdegF", "28 degF\n", "28\u00a0degF",
        "\u0662\u0668 degF", "\uff12\uff18 degF", "28 " + "x" * 80,
        {"value": 28}, {"unit": "degF"}, {"value": "28", "unit": "degF"}, {"value": True, "unit": "degF"},
        {"value": None, "unit": "degF"}, {"value": 28, "unit": None}, {"value": 28, "unit": ["degF"]},
        {"value": 28, "unit": ""}, {"value": 28, "unit": "0 degF"}, {"value": 28, "unit": "psi"},
        {"value": math.nan, "unit": "degF"}, {"value": math.inf, "unit": "degF"}, {"value": 1e300, "unit": "degF"},
        {"value": 10**70, "unit": "degF"}, {"value": 28, "unit": "degF", "note": "x"},
        {"value": 28, "unit": "degF", "entered": None}, {"value": 28, "unit": "degF", "entered": "28"},
    ],
    ids=repr,
)  # fmt: skip
def test_anything_else_is_refused_with_the_units(raw):
    with pytest.raises(ValueError, match=r"\(units: degC, degF, K\)$") as refused:
        parse_quantity(raw, "temperature")
    assert len(str(refused.value)) < 250
    assert "\n" not in str(refused.value)


def test_truth_value_is_not_taken_for_a_number():
    with pytest.raises(ValueError, match="True is not a quantity"):
        parse_quantity(True, "temperature")


def test_refusal_names_the_value_and_all_units_that_would_do():
    with pytest.raises(ValueError, match="'35 %' is not a mass fraction or volume fraction") as refused:
        parse_quantity("35 %", "mass_fraction", "volume_fraction")
    assert '"35 mass%" (units: mass%, vol%)' in str(refused.value)


@pytest.mark.parametrize("text", ["-460 degF", "-273.2 degC", "-1 K"])
def test_temperature_below_absolute_zero_is_refused(text):
    with pytest.raises(ValueError, match=f"'{text}' is below absolute zero"):
        parse_quantity(text, "temperature")


def test_difference_of_temperatures_may_be_negative():
    assert parse_quantity("-9 deltaF", "temperature_difference").value == -5


@pytest.mark.parametrize(
    ("text", "dimension", "si", "us"),
    [
        # Worked out by hand from the factors above.
        ("28 degF", "temperature", (-2.22222, "degC"), (28, "degF")),
        ("32 degF", "temperature", (0, "degC"), (32, "degF")),
        ("4 deltaF", "temperature_difference", (2.22222, "deltaC"), (4, "deltaF")),
        ("2 bar", "pressure", (200, "kPa"), (29.0075, "psi")),
        ("10 inHg", "pressure", (33.8639, "kPa"), (10, "inHg")),
        ("38 L", "volume", (38, "L"), (10.0385, "gal")),
        ("8 floz", "volume", (0.236588, "L"), (8, "floz")),
        ("120 ft", "length", (36.576, "m"), (120, "ft")),
        ("2.5 in", "length", (63.5, "mm"), (2.5, "in")),
        ("9.525 mm", "length", (9.525, "mm"), (0.375, "in")),
        ("300 g", "mass", (300, "g"), (10.5822, "oz")),
        ("1200 g", "mass", (1.2, "kg"), (2.64555, "lb")),
        ("5.8 A", "current", (5.8, "A"), (5.8, "A")),
        ("250 mV", "voltage", (250, "mV"), (250, "mV")),
        ("0.25 hp", "power", (186.425, "W"), (0.25, "hp")),
        ("2900 Btu/h", "power", (849.906, "W"), (2900, "Btu/h")),
        ("850 W", "power", (850, "W"), (850, "W")),
        ("60 gal/h", "volume_flow", (3.78541, "L/min"), (60, "gal/h")),
        ("35 mass%", "mass_fraction", (35, "mass%"), (35, "mass%")),
        ("80 %", "fraction", (80, "%"), (80, "%")),
        ("20 min", "time", (20, "min"), (20, "min")),
    ],
)
def test_quantity_is_shown_in_the_units_of_the_system(text, dimension, si, us):
    quantity = parse_quantity(text, dimension)
    for system, (value, unit) in (("si", si), ("us", us)):
        assert show_quantity(quantity, system) == {"value": value, "unit": unit, "entered": text}


def test_computed_quantity_is_shown_without_entered_text():
    assert show_quantity(Quantity(256.85, "temperature", ""), "si") == {"value": -16.3, "unit": "degC"}


def test_computed_freezing_point_is_not_shown_with_rounding_noise():
    assert show_quantity(Quantity(math.nextafter(273.15, 300), "temperature", ""), "si")["value"] == 0


@pytest.mark.parametrize(
    ("text", "dimension", "si", "us"),
    [
        ("28 degF", "temperature", "-2.2 °C", "28 °F"),
        ("32.01 degF", "temperature", "0 °C", "32 °F"),
        ("25 deltaF", "temperature_difference", "13.9 °C", "25 °F"),
        ("100 ft", "length", "30.5 m", "100 ft"),
        ("0.3125 in", "length", "7.94 mm", "0.3125 in"),
        ("8 floz", "volume", "0.2366 L", "8 fl oz"),
        ("-0.4348 %", "fraction", "-0.4 %", "-0.4 %"),
        ("0.0456 %", "fraction", "0.0456 %", "0.0456 %"),
        ("2900 Btu/h", "power", "850 W", "2900 Btu/h"),
        ("8.5 pH", "acidity", "pH 8.5", "pH 8.5"),
        ("0 A", "current", "0 A", "0 A"),
    ],
)
def test_quantity_reads_well_in_a_sentence(text, dimension, si, us):
    quantity = parse_quantity(text, dimension)
    assert (format_quantity(quantity, "si"), format_quantity(quantity, "us")) == (si, us)


NUMBERS = st.one_of(
    st.integers(-(10**6), 10**6),
    st.floats(-1e6, 1e6),
    st.decimals(-1000, 1000, places=3).map(float),
    st.floats(1e-90, 1e90),
)


def _parsed(number, unit, dimension):
    try:
        return parse_quantity({"value": number, "unit": unit}, dimension)
    except ValueError:
        return None  # below absolute zero, or smaller than the two exponent digits that are read


@given(number=NUMBERS, unit=st.sampled_from(EVERY_UNIT), system=st.sampled_from(["si", "us"]))
@example(number=-273.1497, unit=("temperature", "degC"), system="us")
@example(number=1e-9, unit=("temperature", "K"), system="us")
@example(number=1e-9, unit=("temperature", "degC"), system="si")
@example(number=1234.5678, unit=("temperature", "degF"), system="si")
def test_answers_of_ours_are_read_back_the_same(number, unit, system):
    quantity = _parsed(number, unit[1], unit[0])
    if quantity is not None:
        assert parse_quantity(show_quantity(quantity, system), unit[0]) == quantity


@given(text=st.text(max_size=80))
def test_no_text_does_worse_than_a_value_error(text):
    with contextlib.suppress(ValueError):
        parse_quantity(text, *DIMENSIONS)


@pytest.mark.parametrize("fahrenheit", range(-40, 213, 9))
def test_a_temperature_is_the_same_in_every_unit(fahrenheit: int) -> None:
    """Every ninth °F is a whole number of °C; limits in the one are met by readings in the other."""
    celsius = (fahrenheit - 32) * 5 // 9

    assert (
        parse_quantity(f"{fahrenheit} degF", "temperature").value
        == parse_quantity(f"{celsius} degC", "temperature").value
        == round(celsius + 273.15, 2)
    )
