"""Physical values: text or number and unit in, SI inside, SI or US customary units out.

The units listed here are read, under the names that `unit_names` knows. A bare number is refused, since °F taken for
°C ruins a unit, and "°F" for a difference, which is deltaF.
"""

import math
import re
import reprlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeGuard

from service.domain.unit_names import unit_named
from service.domain.unit_scales import SCALES

LONGEST_TEXT = 64
_NUMBER = r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:[eE](?:[+]?[0-9]{1,2}|-[0-9]{1,3}))?"
_BARE_NUMBER = re.compile(_NUMBER)
_NUMBER_AND_UNIT = re.compile(rf"((?>{_NUMBER})) *([A-Za-z%°º\"][A-Za-z0-9%/°º. ]*)")
_PH = re.compile(rf"(?i:ph) *({_NUMBER})")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A physical value: `value` in the SI base of its `dimension`, and `entered`, the text as it was typed.

    A calculated quantity has an empty `entered`.
    """

    value: float
    dimension: str
    entered: str


@dataclass(frozen=True, slots=True)
class Dimension:
    """The SI base of a kind of quantity, the units read for it (our name: pint's name), and those used in answers."""

    base: str
    units: Mapping[str, str]
    si: str
    us: str
    example: str


# Brix and pH are scales, not multiples of an SI unit, and are kept as read. Fractions are kept as 0 to 1.
# inHg is the conventional inch of mercury, hp is 550 ft lbf/s, Btu is the International Table Btu, and gal, qt and
# floz are the US liquid measures.
DIMENSIONS: Mapping[str, Dimension] = {
    "temperature": Dimension("kelvin", {"degC": "degC", "degF": "degF", "K": "kelvin"}, "degC", "degF", "28 degF"),
    "temperature_difference": Dimension(
        "kelvin", {"deltaC": "delta_degC", "deltaF": "delta_degF", "K": "kelvin"}, "deltaC", "deltaF", "4 deltaF"
    ),
    "pressure": Dimension(
        "pascal",
        {"kPa": "kilopascal", "psi": "psi", "bar": "bar", "Pa": "pascal", "inHg": "inch_Hg"},
        "kPa",
        "psi",
        "30 psi",
    ),
    "volume": Dimension(
        "meter**3",
        {"L": "liter", "mL": "milliliter", "gal": "gallon", "floz": "fluid_ounce", "m3": "meter**3", "qt": "quart"},
        "L",
        "gal",
        "38 L",
    ),
    "length": Dimension(
        "meter",
        {"m": "meter", "mm": "millimeter", "cm": "centimeter", "ft": "foot", "in": "inch"},
        "m",
        "ft",
        "120 ft",
    ),
    "mass": Dimension("kilogram", {"kg": "kilogram", "g": "gram", "lb": "pound", "oz": "ounce"}, "kg", "lb", "300 g"),
    "current": Dimension("ampere", {"A": "ampere", "mA": "milliampere"}, "A", "A", "5.8 A"),
    "voltage": Dimension("volt", {"V": "volt", "mV": "millivolt"}, "V", "V", "115 V"),
    "power": Dimension(
        "watt", {"W": "watt", "kW": "kilowatt", "Btu/h": "Btu/hour", "hp": "horsepower"}, "W", "W", "2900 Btu/h"
    ),
    "volume_flow": Dimension(
        "meter**3/second",
        {
            "L/min": "liter/minute",
            "L/h": "liter/hour",
            "gal/h": "gallon/hour",
            "gal/min": "gallon/minute",
            "m3/h": "meter**3/hour",
        },
        "L/min",
        "gal/h",
        "60 gal/h",
    ),
    "mass_fraction": Dimension("dimensionless", {"mass%": "percent"}, "mass%", "mass%", "35 mass%"),
    "volume_fraction": Dimension("dimensionless", {"vol%": "percent"}, "vol%", "vol%", "33 vol%"),
    "brix": Dimension("dimensionless", {"Brix": "dimensionless"}, "Brix", "Brix", "24.5 Brix"),
    "fraction": Dimension("dimensionless", {"%": "percent"}, "%", "%", "80 %"),
    "frequency": Dimension("hertz", {"Hz": "hertz"}, "Hz", "Hz", "60 Hz"),
    "time": Dimension("second", {"s": "second", "min": "minute", "h": "hour", "d": "day"}, "min", "min", "20 min"),
    "acidity": Dimension("dimensionless", {"pH": "dimensionless"}, "pH", "pH", "8.5 pH"),
}

UNITS_BY_DIMENSION: Mapping[str, tuple[str, ...]] = {name: tuple(kind.units) for name, kind in DIMENSIONS.items()}

# Units an answer keeps when they were the ones entered: a pump sold as "0.25 hp" stays so in US units.
_KEPT = {
    "si": frozenset({"mA", "mV", "kW", "L/h", "s", "min", "h", "d"}),
    "us": frozenset({"mA", "mV", "kW", "hp", "Btu/h", "gal/min", "inHg", "s", "min", "h", "d"}),
}
_FINE_LENGTHS = frozenset({"mm", "cm", "in"})
_FINE = {("length", "si"): "mm", ("length", "us"): "in", ("mass", "si"): "g"}
_FINE |= {("mass", "us"): "oz", ("volume", "us"): "floz"}
_ABSOLUTE = frozenset({"psia", "bara", "kPaa"})
_DIFFERENCES = {"degC": "deltaC", "degF": "deltaF"}
_IN_SENTENCES = {"degC": "°C", "degF": "°F", "deltaC": "°C", "deltaF": "°F", "floz": "fl oz"}


def parse_quantity(raw: object, *dimensions: str) -> Quantity:
    """Read "28 degF", {"value": 28, "unit": "degF"} or an answer of this API, which also has `entered`.

    A unit of several dimensions (K) means the first of the given `dimensions`. Raises ValueError with a message that
    names the value and the accepted units.

    >>> parse_quantity("60 degF", "temperature")
    Quantity(value=288.7056, dimension='temperature', entered='60 degF')
    """
    if isinstance(raw, str):
        return _from_text(raw, dimensions)
    if isinstance(raw, Mapping):
        return _from_document(raw, dimensions)
    fault = f"{reprlib.repr(raw)} has no unit" if _is_number(raw) else f"{reprlib.repr(raw)} is not a quantity"
    raise _refusal(fault, dimensions)


def _is_number(raw: object) -> TypeGuard[int | float]:
    return isinstance(raw, int | float) and not isinstance(raw, bool)


@lru_cache(maxsize=8192)
def _from_text(raw: str, dimensions: tuple[str, ...]) -> Quantity:
    if len(raw) > LONGEST_TEXT:
        raise _refusal(f"{raw[:20]!r}... is longer than {LONGEST_TEXT} characters", dimensions)
    text = raw.strip(" ")
    found = _number_and_unit(text)
    if found is None:
        fault = "has no unit" if _BARE_NUMBER.fullmatch(text) else "is not a number and a unit"
        raise _refusal(f"{text!r} {fault}", dimensions)
    number, unit = found
    dimension = next((name for name in dimensions if unit in DIMENSIONS[name].units), None)
    if dimension is None:
        fault = f"{text!r} is not a {' or '.join(dimensions).replace('_', ' ')}"
        hint = f"; a difference is in {_DIFFERENCES[unit]}" if _is_difference(unit, dimensions) else ""
        if unit in _ABSOLUTE and "pressure" in dimensions:
            fault, hint = f"{text!r} is an absolute pressure", "; pressures are what a gauge shows"
        raise _refusal(fault + hint, dimensions)
    value = SCALES[unit].to_si(float(number))
    whole = round(value, 2)
    if dimension == "temperature" and abs(value - whole) < 1e-12:
        value = whole  # 140 °F is 60 °C, and not 6e-14 K over a limit of 60 °C
    return _checked(Quantity(value, dimension, text))


def _number_and_unit(text: str) -> tuple[str, str] | None:
    """The number and our name of the unit, None for a text that is no such thing; a unit unknown stays as written."""
    found = _NUMBER_AND_UNIT.fullmatch(text)
    if found is not None:
        return found[1], unit_named(found[2]) or found[2]
    found = _PH.fullmatch(text)
    return None if found is None else (found[1], "pH")


def _is_difference(unit: str, dimensions: tuple[str, ...]) -> bool:
    return unit in _DIFFERENCES and "temperature_difference" in dimensions


def _checked(quantity: Quantity) -> Quantity:
    if quantity.dimension == "temperature" and quantity.value < 0:
        raise ValueError(f"{quantity.entered!r} is below absolute zero, 0 K")
    return quantity


def _from_document(raw: Mapping[object, object], dimensions: tuple[str, ...]) -> Quantity:
    number, unit = raw.get("value"), raw.get("unit")
    if not raw.keys() <= {"value", "unit", "entered"} or not isinstance(unit, str):
        raise _refusal(f"{reprlib.repr(dict(raw))} is not a value and a unit", dimensions)
    if not _is_number(number):
        raise _refusal(f"{reprlib.repr(number)} is not a number", dimensions)
    stated = _from_text(f"{repr(number).removesuffix('.0')} {unit}", dimensions)
    return _as_entered(stated, raw["entered"]) if "entered" in raw else stated


def _as_entered(stated: Quantity, entered: object) -> Quantity:
    """The quantity as in `entered`, if that agrees with the value and unit beside it.

    Answers are rounded to six significant digits, so "the same" is within 1e-5 of the value; temperatures, whose
    zero is elsewhere in every unit, may also differ by 0.001 K.
    """
    if not isinstance(entered, str):
        raise _refusal(f"entered {reprlib.repr(entered)} is not text", (stated.dimension,))
    typed = _from_text(entered, (stated.dimension,))
    slack = 1e-3 if stated.dimension == "temperature" else 0.0
    if not math.isclose(stated.value, typed.value, rel_tol=1e-5, abs_tol=slack):
        raise ValueError(f"{stated.entered!r} contradicts entered {entered!r}; leave out entered or make them agree")
    return typed


def _refusal(fault: str, dimensions: tuple[str, ...]) -> ValueError:
    units = dict.fromkeys(unit for dimension in dimensions for unit in UNITS_BY_DIMENSION[dimension])
    example = DIMENSIONS[dimensions[0]].example
    return ValueError(f'{fault}; write the number and its unit, for example "{example}" (units: {", ".join(units)})')


def show_quantity(quantity: Quantity, system: str) -> dict[str, float | str]:
    """The quantity as JSON in `system` "si" or "us": value to six significant digits, unit, and what was entered.

    >>> show_quantity(parse_quantity("28 degF", "temperature"), "si")
    {'value': -2.22222, 'unit': 'degC', 'entered': '28 degF'}
    """
    unit = _unit_shown(quantity, system)
    shown: dict[str, float | str] = {"value": float(f"{_in_unit(quantity, unit):.6g}"), "unit": unit}
    if quantity.entered:
        shown["entered"] = quantity.entered
    return shown


def show_uncertain(quantity: Quantity, uncertainty: float, system: str) -> dict[str, float | str]:
    """The quantity as JSON with its standard uncertainty in the same unit, both to two digits of the uncertainty.

    >>> show_uncertain(Quantity(271.1234, "temperature", ""), 0.63, "si")
    {'value': -2.03, 'unit': 'degC', 'uncertainty': 0.63}
    """
    shown = show_quantity(quantity, system)
    scale = SCALES[str(shown["unit"])]
    spread = abs(scale.from_si(quantity.value + uncertainty) - scale.from_si(quantity.value))
    if not 0.0 < spread < math.inf:
        return shown
    digits = 1 - math.floor(math.log10(spread))
    value = float(shown["value"]) if quantity.entered else round(float(shown["value"]), digits) + 0.0
    rest = {"entered": quantity.entered} if quantity.entered else {}
    return {"value": value, "unit": shown["unit"], "uncertainty": float(f"{spread:.2g}"), **rest}


def format_quantity(quantity: Quantity, system: str) -> str:
    """The quantity for a sentence: temperatures and percentages rounded to 0.1, others to about three digits.

    >>> format_quantity(parse_quantity("47 degF", "temperature"), "si")
    '8.3 °C'
    """
    unit = _unit_shown(quantity, system)
    number = _rounded(_in_unit(quantity, unit), quantity.dimension)
    return f"pH {number}" if unit == "pH" else f"{number} {_IN_SENTENCES.get(unit, unit)}"


def number_in(quantity: Quantity, unit: str) -> str:
    """The number of a quantity in a unit: as it was entered where that was the unit, else rounded as in a sentence.

    >>> [number_in(parse_quantity(text, "temperature"), "degF") for text in ("47.25 degF", "0 degC")]
    ['47.25', '32']
    """
    number, entered = _number_and_unit(quantity.entered) or ("", "")
    return number if entered == unit else _rounded(_in_unit(quantity, unit), quantity.dimension)


def _unit_shown(quantity: Quantity, system: str) -> str:
    entered = _unit_of(quantity.entered)
    if entered in _KEPT[system] and entered in DIMENSIONS[quantity.dimension].units:
        return entered
    kind = DIMENSIONS[quantity.dimension]
    usual = kind.si if system == "si" else kind.us
    fine = _FINE.get((quantity.dimension, system))
    if fine is None:
        return usual
    is_fine = entered in _FINE_LENGTHS if quantity.dimension == "length" else abs(_in_unit(quantity, usual)) < 1
    return fine if is_fine else usual


@lru_cache(maxsize=8192)
def _unit_of(entered: str) -> str:
    found = _number_and_unit(entered)
    return found[1] if found else ""


def _in_unit(quantity: Quantity, unit: str) -> float:
    number = SCALES[unit].from_si(quantity.value)
    # Taking the shift off leaves rounding noise: without this, a computed 0 degC could show as 5.7e-14 degC.
    return round(number, 6) if quantity.dimension == "temperature" else number


def _rounded(number: float, dimension: str) -> str:
    if dimension in {"temperature", "temperature_difference"} or (dimension == "fraction" and abs(number) >= 0.1):
        digits = 1
    else:
        digits = next((few for size, few in ((100, 0), (10, 1), (1, 2)) if abs(number) >= size), 4)
    text = f"{round(number, digits) + 0.0:.{digits}f}"
    return text.rstrip("0").rstrip(".") if digits else text
