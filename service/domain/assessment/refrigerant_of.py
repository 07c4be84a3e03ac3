"""The unit's refrigerant and its saturation temperatures at the pressures read."""

from functools import lru_cache

from service.domain.assessment.evidence import Evidence, Need, a_reading
from service.domain.assessment.uncertainty import uncertainty
from service.domain.physics.refrigeration.refrigerants import Refrigerant, known_refrigerant
from service.domain.physics.refrigeration.saturation import absolute_pressure, bubble_temperature, dew_temperature
from service.domain.physics.refrigeration.superheat import atmosphere_at


def refrigerant_of(e: Evidence) -> Refrigerant | None:
    """The unit's refrigerant, None where it is not recorded or not known here."""
    return known_refrigerant(e.refrigeration.refrigerant)


def the_refrigerant(e: Evidence) -> Refrigerant:
    """The unit's refrigerant, REFRIGERANT being among the rule's needs."""
    found = refrigerant_of(e)
    if found is None:
        raise LookupError("a rule asked for the refrigerant without having REFRIGERANT among its needs")
    return found


def suction_can_be_read(e: Evidence) -> bool:
    """Whether a low-side gauge reading is worth taking: not on a capillary unit with that port alone."""
    circuit = e.refrigeration
    low_side_only = circuit.high_side_port is False
    return circuit.low_side_port is not False and not (circuit.metering == "capillary" and low_side_only)


REFRIGERANT = Need(
    "refrigeration.refrigerant",
    "unit",
    "the refrigerant on the unit's record",
    lambda e: refrigerant_of(e) is not None,
    lambda e: e.refrigeration.refrigerant is None,
)
SUCTION = a_reading("suction_pressure", can_be_had=suction_can_be_read)
DISCHARGE = a_reading("discharge_pressure", can_be_had=lambda e: e.refrigeration.high_side_port is not False)


def evaporating(e: Evidence) -> float:
    """The dew temperature at the suction pressure [K]."""
    return _dew(the_refrigerant(e), e.value("suction_pressure"), atmosphere(e))


def condensing(e: Evidence) -> float:
    """The bubble temperature at the discharge pressure [K]."""
    return _bubble(the_refrigerant(e), e.value("discharge_pressure"), atmosphere(e))


def evaporating_uncertainty(e: Evidence) -> float:
    """The standard uncertainty of the evaporating temperature, by that of the gauge [K]."""
    reading = e.reading("suction_pressure")
    more = reading.value.value + uncertainty(reading)
    return _dew(the_refrigerant(e), more, atmosphere(e)) - evaporating(e)


def condensing_uncertainty(e: Evidence) -> float:
    """The standard uncertainty of the condensing temperature, by that of the gauge [K]."""
    reading = e.reading("discharge_pressure")
    less = reading.value.value - uncertainty(reading)
    return condensing(e) - _bubble(the_refrigerant(e), less, atmosphere(e))


def atmosphere(e: Evidence) -> float:
    """The atmospheric pressure at the site [Pa]; at sea level where its elevation is not recorded."""
    return atmosphere_at(e.elevation or 0.0)


@lru_cache(maxsize=8192)
def _dew(fluid: Refrigerant, gauge: float, air: float) -> float:
    return dew_temperature(fluid, absolute_pressure(gauge, atmosphere=air))


@lru_cache(maxsize=8192)
def _bubble(fluid: Refrigerant, gauge: float, air: float) -> float:
    return bubble_temperature(fluid, absolute_pressure(gauge, atmosphere=air))
