"""Which motors run and which stand, by the currents of one moment, and whether cooling is wanted."""

from service.domain.assessment.bands import BATH_BAND
from service.domain.assessment.evidence import Evidence, worth
from service.domain.assessment.uncertainty import THERMOMETER, surely_over
from service.domain.physics.bath.pull_down_verdict import DIFFERENTIAL
from service.domain.physics.electrical.motor_currents import LOCKED_ROTOR_FACTOR
from service.domain.physics.ranges import below
from service.domain.record.visits import Reading

IDLE = 0.1  # of the rated current; below it the motor does not run; common practice, no source
IDLE_AMPERES = 0.6  # A, where no nameplate is recorded: three digits of a clamp meter at 0.1 A and its error
LOCKED = 0.5  # of six times the rated current; common practice, no source
FAN_IDLE_AMPERES = 0.25  # A of a condenser fan without one: small fans draw 0.4 A; common practice, no source


def currents_of(e: Evidence, *kinds: str) -> list[Reading]:
    """The currents read at components of these kinds."""
    return [each for each in e.each("current") if e.kind_at(each.component) in kinds]


def nameplate(e: Evidence, reading: Reading) -> float | None:
    """The current on the nameplate of the component where one was read [A]."""
    part = e.part_at(reading.component)
    return None if part is None else worth(part.rated_current)


def draws_current(e: Evidence, reading: Reading) -> bool:
    """Whether a motor runs by its current: over a tenth of its nameplate, or over what a clamp meter shows at rest."""
    rated = nameplate(e, reading)
    unrated = FAN_IDLE_AMPERES if e.kind_at(reading.component) == "condenser_fan" else IDLE_AMPERES
    return reading.value.value >= (IDLE * rated if rated else unrated)


def locked(e: Evidence, reading: Reading) -> bool:
    """Whether a motor's current is that of a rotor that does not turn; never without its nameplate."""
    return is_locked(reading.value.value, nameplate(e, reading))


def is_locked(current: float, rated: float | None) -> bool:
    """Whether a motor's current [A] is that of a rotor that does not turn."""
    return rated is not None and rated > 0.0 and not below(current, LOCKED * LOCKED_ROTOR_FACTOR * rated)


def stands(e: Evidence, *kinds: str) -> bool:
    """Whether a motor of these kinds was read and draws no current."""
    return bool(currents_of(e, *kinds)) and not runs(e, *kinds)


def runs(e: Evidence, *kinds: str) -> bool:
    """Whether a motor of these kinds was read and draws current."""
    return any(draws_current(e, each) for each in currents_of(e, *kinds))


def starts_at(e: Evidence) -> float:
    """The bath at which the controller starts the compressor, as it is set where that was read [K]."""
    read = e.has("controller_set_point")
    stop = e.value("controller_set_point") if read else worth(e.bath.set_point)
    return BATH_BAND[1] if stop is None else stop + (worth(e.bath.differential) or DIFFERENTIAL)


def cooling_wanted(e: Evidence) -> bool:
    """Whether the bath surely is warmer than where the controller starts the compressor."""
    return e.has("bath_temperature") and surely_over(e.value("bath_temperature"), starts_at(e), THERMOMETER)
