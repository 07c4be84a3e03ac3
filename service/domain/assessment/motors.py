"""Which motors run and which stand, by the currents of one moment, and whether cooling is wanted."""

from service.domain.assessment.bands import BATH_BAND
from service.domain.assessment.evidence import Evidence, worth
from service.domain.assessment.operating_state import DIFFERENTIAL, draws_current
from service.domain.assessment.uncertainty import THERMOMETER, surely_over
from service.domain.record.visits import Reading


def currents_of(e: Evidence, *kinds: str) -> list[Reading]:
    """The currents read at components of these kinds."""
    return [each for each in e.each("current") if _kind(e, each) in kinds]


def stands(e: Evidence, *kinds: str) -> bool:
    """Whether a motor of these kinds was read and draws no current."""
    read = currents_of(e, *kinds)
    return bool(read) and not any(draws_current(e, each) for each in read)


def runs(e: Evidence, *kinds: str) -> bool:
    """Whether a motor of these kinds was read and draws current."""
    return any(draws_current(e, each) for each in currents_of(e, *kinds))


def starts_at(e: Evidence) -> float:
    """The bath at which the controller starts the compressor [K]."""
    stop = worth(e.bath.set_point)
    return BATH_BAND[1] if stop is None else stop + (worth(e.bath.differential) or DIFFERENTIAL)


def cooling_wanted(e: Evidence) -> bool:
    """Whether the bath surely is warmer than where the controller starts the compressor."""
    return e.has("bath_temperature") and surely_over(e.value("bath_temperature"), starts_at(e), THERMOMETER)


def _kind(e: Evidence, reading: Reading) -> str | None:
    part = e.parts.get(reading.component or "")
    return part.kind if part else None
