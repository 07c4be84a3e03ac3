"""How sure a reading is, and whether a limit lies within what the instrument can tell.

Standard uncertainties are an instrument's limit of error divided by the square root of three (JCGM 100:2008, 4.3.7:
from memory). Limits: ASTM E230 special-limit thermocouples 1.1 K; 1 % gauges of 120 and 500 psi (ASME B40.100, grade
1A); clamp meters 3 %; multimeters 0.7 % and two digits; refractometers 0.5 Brix with the sample and the eye.
"""

from collections.abc import Callable
from math import sqrt

from service.domain.assessment.figure import Uncertain
from service.domain.physics.ranges import ROUNDING
from service.domain.record.visits import Reading

RECTANGULAR = sqrt(3.0)
SURE = 1.645  # standard uncertainties; beyond them a one-sided statement is right 95 times in 100
PSI = 6894.757
THERMOMETER = 1.1 / RECTANGULAR  # K
ON_A_PIPE = 2.0 / RECTANGULAR  # K: a clamped probe also feels the air
STRENGTH = 0.006  # mass fraction, 0.5 Brix read as a limit and the sample's temperature


def current_uncertainty(amperes: float) -> float:
    """Of a clamp meter [A]: 3 %."""
    return 0.03 * abs(amperes) / RECTANGULAR


def _voltage(volts: float) -> float:
    return (0.007 * abs(volts) + 0.2) / RECTANGULAR


OF_QUANTITY: dict[str, Callable[[float], float]] = {
    "current": current_uncertainty,
    "supply_voltage": _voltage,
    "voltage_to_ground": _voltage,
    "contact_voltage_drop": lambda volts: (0.007 * abs(volts) + 0.002) / RECTANGULAR,
    "suction_pressure": lambda _: 1.2 * PSI / RECTANGULAR,
    "discharge_pressure": lambda _: 5.0 * PSI / RECTANGULAR,
    "suction_line_temperature": lambda _: ON_A_PIPE,
    "liquid_line_temperature": lambda _: ON_A_PIPE,
    "bath_level": lambda _: 0.02,
    "glycol_ph": lambda _: 0.1,
}
OF_DIMENSION: dict[str, Callable[[float], float]] = {
    "temperature": lambda _: THERMOMETER,
    "voltage": _voltage,
    "current": current_uncertainty,
    "mass_fraction": lambda _: STRENGTH,
    "volume_fraction": lambda _: STRENGTH,
    "brix": lambda _: 0.5 / RECTANGULAR,
    "length": lambda metres: max(0.01, 0.05 * abs(metres)),
}


def uncertainty(reading: Reading) -> float:
    """The standard uncertainty of a reading, in the SI unit of its dimension; 5 % where no instrument is known."""
    value = reading.value
    by = OF_QUANTITY.get(reading.quantity) or OF_DIMENSION.get(value.dimension)
    return 0.05 * abs(value.value) if by is None else by(value.value)


def taken(reading: Reading) -> Uncertain:
    """A reading as a figure with its uncertainty."""
    value = reading.value
    return Uncertain(value.value, value.dimension, uncertainty(reading), value.entered)


def together(*parts: float) -> float:
    """The standard uncertainty of a sum or difference of independent values."""
    return sqrt(sum(part * part for part in parts))


def surely_over(value: float, limit: float, spread: float) -> bool:
    """Whether a value lies over a limit with a probability of 95 %."""
    return value - limit > SURE * spread + ROUNDING


def surely_under(value: float, limit: float, spread: float) -> bool:
    """Whether a value lies under a limit with a probability of 95 %."""
    return surely_over(limit, value, spread)
