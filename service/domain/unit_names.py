"""The names of units as technicians write them: "°F", "PSI", "in.", "fl oz" and others, each read as one of ours."""

from functools import lru_cache

from service.domain.unit_scales import SCALES

# Without case, blanks and dots, and with "deg" for the degree sign. What could mean two of our units is not here.
_WRITTEN = {
    "degC": ("c", "celsius"),
    "degF": ("f", "fahrenheit"),
    "psi": ("psig", "lb/in2"),
    "L": ("liter", "liters", "litre", "litres"),
    "gal": ("gals", "gallon", "gallons"),
    "ft": ("foot", "feet"),
    "in": ("inch", "inches", '"'),
    "lb": ("lbs", "pound", "pounds"),
    "oz": ("ounce", "ounces"),
    "A": ("amp", "amps", "ampere", "amperes"),
    "V": ("volt", "volts", "vac"),
    "W": ("watt", "watts"),
    "Btu/h": ("btuh", "btu/hr"),
    "L/min": ("lpm",),
    "gal/h": ("gph", "gal/hr"),
    "gal/min": ("gpm",),
    "Brix": ("degbrix", "degbx", "bx"),
    "%": ("percent", "pct"),
    "s": ("sec", "second", "seconds"),
    "min": ("mins", "minute", "minutes"),
    "h": ("hr", "hrs", "hour", "hours"),
    "d": ("day", "days"),
}
_KNOWN = {unit.lower(): unit for unit in SCALES}
_KNOWN |= {written: unit for unit, names in _WRITTEN.items() for written in names}


@lru_cache(maxsize=1024)
def unit_named(written: str) -> str | None:
    """Our name of a unit, None for what is none.

    >>> [unit_named(name) for name in ("degF", "°F", "F", "PSI", "in.", "fl oz", "bushel")]
    ['degF', 'degF', 'degF', 'psi', 'in', 'floz', None]
    """
    if written in SCALES:
        return written
    plain = written.lower().replace("°", "deg").replace("º", "deg").replace(" ", "").replace(".", "")
    return _KNOWN.get(plain)
