"""What a condenser that is warmer than it should be costs in cooling and power."""

from functools import lru_cache

from service.domain.assessment.evidence import Evidence, percent
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.refrigerant_of import condensing, evaporating, the_refrigerant
from service.domain.physics.glycol.protection import estimated_coil_temperature
from service.domain.physics.ranges import OutOfRange
from service.domain.physics.refrigeration.refrigerants import Refrigerant
from service.domain.physics.refrigeration.vapour_compression import (
    REAL_CONDITIONS,
    CondensingPenalty,
    condensing_penalty,
)

SPREAD = 0.4  # of the loss: machines differ as much as the effects (literature on faults); judged


def cost(e: Evidence, *, split: float, clean: float) -> tuple[str, dict[str, Figure]]:
    """The loss from the warmer condenser, as text and figures; nothing where the cycle cannot be calculated."""
    try:
        cold = _evaporating(e)
        if cold is None:
            return "", {}
        now = condensing(e)
        loss = _penalty(the_refrigerant(e), _tenth(cold), _tenth(now - split + clean), _tenth(now))
    except (OutOfRange, ArithmeticError):  # the split stands; the ranges of the cycle are narrower
        return "", {}
    text = f" Calculated loss: about {percent(-loss.capacity)} less cooling, {percent(loss.power)} more power."
    return text, {
        "capacity_lost": Uncertain(-loss.capacity, "fraction", SPREAD * abs(loss.capacity)),
        "power_added": Uncertain(loss.power, "fraction", SPREAD * abs(loss.power)),
    }


def _tenth(temperature: float) -> float:
    """To 0.1 K, so that the same cycle is calculated once; what lies half-way does not depend on the last bit."""
    return round(round(temperature, 6), 1)


@lru_cache(maxsize=1024)
def _penalty(fluid: Refrigerant, cold: float, clean: float, now: float) -> CondensingPenalty:
    return condensing_penalty(fluid, evaporating=cold, clean=clean, now=now, conditions=REAL_CONDITIONS)


def _evaporating(e: Evidence) -> float | None:
    if e.has("suction_pressure"):
        return evaporating(e)
    return estimated_coil_temperature(e.value("bath_temperature")) if e.has("bath_temperature") else None
