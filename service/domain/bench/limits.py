"""Errors for values out of range: the field, the value as entered, and the limits in the unit that was used."""

from collections.abc import Iterator, Mapping
from math import isclose, isinf
from typing import Any

from service.domain.bench.fields import Calculation, Input, inputs_of
from service.domain.errors import Fault, Invalid
from service.domain.physics.ranges import OutOfRange
from service.domain.plain import shape
from service.domain.quantities import UNITS_BY_DIMENSION, Quantity, parse_quantity

WHOLE = "body"
SI_UNITS = {
    "temperature": "K",
    "temperature_difference": "K",
    "pressure": "Pa",
    "volume": "m3",
    "length": "m",
    "mass": "kg",
    "current": "A",
    "voltage": "V",
    "power": "W",
    "volume_flow": "m3/s",
    "mass_fraction": "kg/kg",
    "volume_fraction": "m3/m3",
    "brix": "Brix",
    "fraction": "-",
    "time": "s",
}


def in_unit_of(quantity: Quantity, value: float) -> str:
    """An SI value of the quantity's dimension, written in the unit that the quantity was entered in.

    >>> in_unit_of(parse_quantity("400 degF", "temperature"), 333.15)
    '140 degF'
    """
    units = sorted(UNITS_BY_DIMENSION[quantity.dimension], key=len, reverse=True)
    unit = next(unit for unit in units if quantity.entered.endswith(unit))
    zero, one = (parse_quantity(f"{number} {unit}", quantity.dimension).value for number in (0, 1))
    return f"{round((value - zero) / (one - zero), 6):.6g} {unit}"


def limits_text(quantity: Quantity, low: float, high: float) -> str:
    """The limits of a quantity, in its own unit."""
    least, most = in_unit_of(quantity, low), in_unit_of(quantity, high)
    return f"must be at least {least}" if isinf(high) else f"must be from {least} to {most}"


def require_within(kind: type[Any], plain: Mapping[str, Any]) -> None:
    """Invalid, with every input, parts included, that is beyond its limits."""
    if faults := list(_beyond((), kind, plain)):
        raise Invalid(faults)


def quantities_in(plain: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[str, Quantity]]:
    """Every quantity that was entered, with its path."""
    if isinstance(plain, Quantity):
        yield ".".join(path), plain
    elif isinstance(plain, Mapping | list):
        for name, part in plain.items() if isinstance(plain, Mapping) else enumerate(plain):
            yield from quantities_in(part, (*path, str(name)))


def as_fault(refusal: OutOfRange, calculation: Calculation, plain: Mapping[str, Any]) -> Fault:
    """The fault for a limit of the physics: of the field whose value it was, else of the body."""
    entered = dict(quantities_in(plain))
    blamed = [field for field in calculation.blames.get(refusal.limits.name, ()) if field in entered]
    if blamed:
        nearest = min(blamed, key=lambda field: abs(refusal.value - entered[field].value))
        return _fault_of(nearest, entered[nearest], refusal, refusal.value - entered[nearest].value)
    for field, quantity in entered.items():
        same_unit = SI_UNITS.get(quantity.dimension) == refusal.unit
        if same_unit and isclose(quantity.value, refusal.value, rel_tol=1e-9, abs_tol=1e-12):
            return _fault_of(field, quantity, refusal, 0.0)
    return Fault(WHOLE, refusal.value, f"these values lead outside the range of the calculation: {refusal}")


def _fault_of(field: str, quantity: Quantity, refusal: OutOfRange, addend: float) -> Fault:
    if SI_UNITS.get(quantity.dimension) != refusal.unit:
        return Fault(field, quantity.entered, str(refusal))
    limits = limits_text(quantity, refusal.low - addend, refusal.high - addend)
    return Fault(field, quantity.entered, f"{refusal.name} {limits}")


def _beyond(path: tuple[str, ...], kind: type[Any], plain: Mapping[str, Any]) -> Iterator[Fault]:
    asked = inputs_of(kind)
    shapes = shape(kind)  # type: ignore[arg-type]  # any class is hashable
    for name, value in plain.items():
        field, part = (*path, name), shapes[name].record
        if isinstance(value, Quantity):
            yield from _beyond_span(".".join(field), asked[name], value)
        elif part:
            for number, each in enumerate(value):
                yield from _beyond((*field, str(number)), part, each)


def _beyond_span(field: str, asked: Input, value: Quantity) -> Iterator[Fault]:
    low, high = next(
        (parse_quantity(low, dimension).value, parse_quantity(high, dimension).value)
        for dimension, low, high in asked.spans
        if dimension == value.dimension
    )
    slack = 1e-9 * max(abs(low), abs(high))
    if not low - slack <= value.value <= high + slack:
        yield Fault(field, value.entered, limits_text(value, low, high))
