"""Calculated figures as quantities, and the compound units of answers, which are never read."""

from math import isinf

from service.domain.quantities import Quantity, show_quantity

FOOT, POUND, GALLON, BTU, HOUR, KELVIN = 0.3048, 0.45359237, 3.785411784e-3, 1055.05585262, 3600.0, 1.8
# dimension: (SI unit, times, US unit, times); the figures themselves are kept in the SI base.
COMPOUND = {
    "density": ("kg/m3", 1.0, "lb/gal", GALLON / POUND),
    "specific_heat": ("kJ/(kg K)", 1e-3, "Btu/(lb degF)", POUND / BTU / KELVIN),
    "viscosity": ("mPa s", 1e3, "cP", 1e3),
    "conductivity": ("W/(m K)", 1.0, "Btu/(h ft degF)", HOUR * FOOT / BTU / KELVIN),
    "heat_per_length": ("W/m", 1.0, "Btu/(h ft)", HOUR * FOOT / BTU),
    "heat_flow": ("W", 1.0, "Btu/h", HOUR / BTU),
    "heat": ("kJ", 1e-3, "Btu", 1.0 / BTU),
    "heat_capacity": ("kJ/K", 1e-3, "Btu/degF", 1.0 / BTU / KELVIN),
    "capacity_rate": ("W/K", 1.0, "Btu/(h degF)", HOUR / BTU / KELVIN),
    "cooling_rate": ("deltaC/min", 60.0, "deltaF/min", 60.0 * KELVIN),
    "thickness": ("mm", 1e3, "in", 12.0 / FOOT),
}
SHARE = "fraction"


def figure(value: float, dimension: str) -> Quantity:
    """A calculated value in the SI base of a dimension, which may be a compound one."""
    return Quantity(float(value), dimension, "")


def figure_if(value: float | None, dimension: str) -> Quantity | None:
    """As `figure`; None where there is none or where it is infinite."""
    return None if value is None or isinf(value) else figure(value, dimension)


def figure_of(found: object | None, name: str, dimension: str) -> Quantity | None:
    """As `figure_if`, of an attribute; None where there is no object."""
    return None if found is None else figure_if(getattr(found, name), dimension)


def show_figure(quantity: Quantity, system: str) -> dict[str, float | str]:
    """The figure as JSON in "si" or "us", as `show_quantity` shows those of simple dimensions.

    >>> show_figure(figure(7.366, "heat_per_length"), "us")
    {'value': 7.66, 'unit': 'Btu/(h ft)'}
    """
    if quantity.dimension not in COMPOUND:
        return show_quantity(quantity, system)
    si, times_si, us, times_us = COMPOUND[quantity.dimension]
    number, unit = (quantity.value * times_si, si) if system == "si" else (quantity.value * times_us, us)
    return {"value": float(f"{number:.6g}"), "unit": unit}
