"""The coldest surface that the glycol touches, and the strength that it needs."""

from dataclasses import dataclass
from functools import lru_cache

from service.domain.assessment.bands import BATH_BAND
from service.domain.assessment.evidence import Evidence, worth
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.refrigerant_of import evaporating, evaporating_uncertainty, refrigerant_of
from service.domain.physics.glycol.properties import STRENGTH, freezing_point, strength_at_freezing_point
from service.domain.physics.glycol.protection import COIL_BELOW_BATH, LEAST_MARGIN, estimated_coil_temperature
from service.domain.physics.ranges import OutOfRange, above

LEAST_BELOW_BATH = 10.0 / 1.8  # K: the warmer end of the published 10 to 15 °F
WALL = 0.25  # of the way from evaporating to bath: how much warmer the surface is than the refrigerant; judged


@dataclass(frozen=True, slots=True)
class Surface:
    """The coldest surface in contact with the glycol [K]: as cold as it may be, its likely value, how it is known."""

    temperature: float
    likely: float
    uncertainty: float
    phrase: str


def coldest_surface(e: Evidence) -> Surface | None:
    """The coil by its suction pressure while it runs or by the bath, whichever is colder; None where neither is known.

    A bath that is still warm does not show the coil of a cold one: then the set point is used.
    """
    found = []
    bath = coldest_bath(e)
    if e.has("suction_pressure") and refrigerant_of(e) is not None and operating_state(e).settled:
        cold = evaporating(e)
        wall = cold + WALL * max(0.0, bath - cold) if bath is not None else cold
        found.append(Surface(cold, wall, evaporating_uncertainty(e), "the coil, by the suction pressure,"))
    if bath is not None:
        cold = estimated_coil_temperature(bath)
        likely = (cold + bath - LEAST_BELOW_BATH) / 2.0
        phrase = f"the coil, estimated {e.difference(COIL_BELOW_BATH)} below the bath,"
        found.append(Surface(cold, likely, (COIL_BELOW_BATH - LEAST_BELOW_BATH) / 12.0**0.5, phrase))
    return min(found, key=lambda surface: surface.temperature, default=None)


def coldest_bath(e: Evidence) -> float | None:
    """The coldest that the bath is or will be [K]."""
    set_point = worth(e.bath.set_point)
    read = e.value("bath_temperature") if e.has("bath_temperature") else None
    now = read if read is not None and not above(read, BATH_BAND[1]) else None
    return min((each for each in (set_point, now) if each is not None), default=None)


def needed_strength(e: Evidence) -> float | None:
    """The strength that freezes 5 °F under the coldest surface; None where the surface is not known."""
    try:
        surface = coldest_surface(e)
    except OutOfRange:
        return None
    if surface is None:
        return None
    return _freezing_at(round(surface.temperature - LEAST_MARGIN, 1))


@lru_cache(maxsize=1024)
def _freezing_at(temperature: float) -> float:
    within = min(max(temperature, freezing_point(STRENGTH.high)), freezing_point(STRENGTH.low))
    return strength_at_freezing_point(within)
