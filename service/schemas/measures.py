"""JSON schemas of physical values: which texts, and which numbers in each unit, are accepted.

A component has the form of all values of its dimensions, and a generated client one type for them. The limits of a
field stand beside its reference to the component, where validators read them and generators of clients do not.

The pattern of the texts covers plain decimal numbers, within limits of three digits. More is read: a plus sign, an
exponent, a leading point.
"""

from collections.abc import Iterable, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal
from typing import Any

from service.domain.quantities import DIMENSIONS, LONGEST_TEXT, parse_quantity
from service.domain.unit_scales import SCALES
from service.schemas.decimal_patterns import decimals

NAMES = {
    ("mass_fraction", "volume_fraction"): "Strength",
    ("mass_fraction", "volume_fraction", "temperature"): "StrengthOrFreezingPoint",
    ("mass_fraction", "volume_fraction", "temperature", "brix"): "MeasuredStrength",
    ("mass", "volume", "length"): "Amount",
}
Span = tuple[str, float, float]  # dimension, lowest and highest in SI units


def span_of(dimension: str, low: str, high: str) -> Span:
    """The span between two texts with units."""
    return dimension, parse_quantity(low, dimension).value, parse_quantity(high, dimension).value


def name_of(dimensions: Iterable[str]) -> str:
    """The name of a value of these dimensions among the components: TemperatureDifference."""
    dimensions = tuple(dimensions)
    return NAMES.get(dimensions) or "Or".join(
        "".join(part.capitalize() for part in dimension.split("_")) for dimension in dimensions
    )


def components_of(name: str, dimensions: Sequence[str]) -> dict[str, dict[str, Any]]:
    """The components of a value of these dimensions: as text or object, and the object by itself."""
    units = list(dict.fromkeys(unit for dimension in dimensions for unit in DIMENSIONS[dimension].units))
    return {
        f"{name}Value": {
            "type": "object",
            "properties": {
                "value": {"type": "number"},
                "unit": {"type": "string", "enum": units},
                "entered": {"type": "string", "readOnly": True, "description": "as typed, where it was"},
            },
            "required": ["value", "unit"],
            "additionalProperties": False,
        },
        name: {
            "description": "number and unit; units: " + ", ".join(units),
            "anyOf": [
                {"type": "string", "maxLength": LONGEST_TEXT, "examples": [DIMENSIONS[dimensions[0]].example]},
                {"$ref": f"#/components/schemas/{name}Value"},
            ],
        },
    }


def limits_text(spans: Iterable[Span]) -> str:
    """The limits as text: -40.27 to 140 degF."""
    return " or ".join(_limits_text(*span) for span in spans)


def _limits_text(dimension: str, low: float, high: float) -> str:
    return f"{_limit(dimension, low)} to {limit_text(dimension, high)}"


def limit_text(dimension: str, limit: float) -> str:
    """A limit with its unit: 140 degF."""
    return f"{_limit(dimension, limit)} {DIMENSIONS[dimension].us}"


def _limit(dimension: str, limit: float) -> str:
    return f"{float(f'{_in_unit(limit, dimension, DIMENSIONS[dimension].us):.5g}'):.12g}"


def measure_schema(name: str, spans: Sequence[Span], digits: int | None = None) -> dict[str, Any]:
    """The schema of a value of this component within these spans; a unit belongs to the first span that has it.

    The limits of the numbers are rounded as numbers in answers are, or inwards to so many digits.
    """
    limits: dict[str, tuple[float, float]] = {}
    for dimension, low, high in spans:
        for unit in DIMENSIONS[dimension].units:
            limits.setdefault(unit, (_in_unit(low, dimension, unit), _in_unit(high, dimension, unit)))
    texts = "|".join(f"{decimals(*_inwards(low, high, 3))} {{0,2}}{unit}" for unit, (low, high) in limits.items())
    return {
        "$ref": f"#/components/schemas/{name}",
        "anyOf": [
            {"type": "string", "pattern": f"^(?:{texts})$"},
            {
                "type": "object",
                "anyOf": [
                    _within(unit, *(_inwards(*ends, digits) if digits else ends)) for unit, ends in limits.items()
                ],
            },
        ],
    }


def _in_unit(limit: float, dimension: str, unit: str) -> float:
    number = SCALES[unit].from_si(limit)
    return round(number, 6) if dimension == "temperature" else float(f"{number:.12g}")


def _inwards(low: float, high: float, digits: int) -> tuple[Decimal, Decimal]:
    up, down = Context(prec=digits, rounding=ROUND_CEILING), Context(prec=digits, rounding=ROUND_FLOOR)
    return up.create_decimal(str(low)), down.create_decimal(str(high))


def _within(unit: str, low: float | Decimal, high: float | Decimal) -> dict[str, Any]:
    value = {"minimum": float(f"{low:.6g}"), "maximum": float(f"{high:.6g}")}
    return {"properties": {"unit": {"const": unit}, "value": value}}
