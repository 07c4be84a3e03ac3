"""JSON schemas of physical values: which texts, and which numbers in each unit, are accepted.

The pattern of the texts covers plain decimal numbers, within limits of three digits. More is read: a plus sign, an
exponent, a leading point.
"""

from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal
from typing import Any

from service.domain.quantities import DIMENSIONS, LONGEST_TEXT, parse_quantity
from service.domain.unit_scales import SCALES
from service.schemas.decimal_patterns import decimals

Span = tuple[str, float, float]  # dimension, lowest and highest in SI units
IN_NAMES = str.maketrans({"/": "Per", "%": "Percent"})
ENTERED = {"type": "string", "readOnly": True, "description": "as typed, where it was"}


def span_of(dimension: str, low: str, high: str) -> Span:
    """The span between two texts with units."""
    return dimension, parse_quantity(low, dimension).value, parse_quantity(high, dimension).value


def name_of(spans: Sequence[Span], prefix: str = "") -> str:
    """The name of these spans among the components: Temperature_28_40degF."""
    return prefix + "Or".join(_named(*span) for span in spans)


def _named(dimension: str, low: float, high: float) -> str:
    unit = DIMENSIONS[dimension].us
    title = "".join(part.capitalize() for part in dimension.split("_"))
    first, last = (f"{float(f'{_in_unit(end, dimension, unit):.5g}'):.12g}" for end in (low, high))
    return f"{title}_{first}_{last}{unit.translate(IN_NAMES)}"


def measure_schema(spans: Sequence[Span], digits: int | None = None) -> dict[str, Any]:
    """The schema of a value within these spans; a unit belongs to the first span that has it.

    The limits of the numbers are rounded as numbers in answers are, or inwards to so many digits.
    """
    limits: dict[str, tuple[float, float]] = {}
    for dimension, low, high in spans:
        for unit in DIMENSIONS[dimension].units:
            limits.setdefault(unit, (_in_unit(low, dimension, unit), _in_unit(high, dimension, unit)))
    texts = "|".join(f"{decimals(*_inwards(low, high, 3))} {{0,2}}{unit}" for unit, (low, high) in limits.items())
    return {
        "description": "number and unit; units: " + ", ".join(limits),
        "anyOf": [
            {"type": "string", "pattern": f"^(?:{texts})$", "maxLength": LONGEST_TEXT},
            {
                "type": "object",
                "properties": {"value": {"type": "number"}, "unit": {"enum": list(limits)}, "entered": ENTERED},
                "required": ["value", "unit"],
                "additionalProperties": False,
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
