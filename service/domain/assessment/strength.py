"""The glycol's strength from any reading: by mass, by volume, in Brix or as a freezing point."""

from functools import lru_cache

from service.domain.assessment.evidence import Evidence, Need, a_reading
from service.domain.physics.glycol.properties import ROOM
from service.domain.physics.glycol.strength import SAMPLE as SAMPLE_RANGE
from service.domain.physics.glycol.strength import strength_by_scale, strength_from_brix
from service.domain.record.visits import Reading


def may_be_propylene(e: Evidence) -> bool:
    """Whether the bath may hold propylene glycol by the record; the formulas are for propylene glycol."""
    return e.bath.glycol != "ethylene"


def sample_usable(reading: Reading) -> bool:
    """Whether a Brix reading came with a sample that a refractometer can correct for; other scales need none."""
    if reading.value.dimension != "brix":
        return True
    sample = reading.sample_temperature
    return sample is not None and SAMPLE_RANGE.low <= sample.value <= SAMPLE_RANGE.high


def _sample_recorded(e: Evidence) -> bool:
    return all(sample_usable(reading) for reading in e.each("glycol_strength"))


STRENGTH = a_reading("glycol_strength", can_be_had=may_be_propylene)
SAMPLE = Need(
    "glycol_strength.sample_temperature", "visit", "the temperature of the Brix reading's sample", _sample_recorded
)
PROPYLENE = Need("bath.glycol", "unit", "which glycol is in the bath", may_be_propylene, may_be_propylene)
NEEDED = (STRENGTH, SAMPLE, PROPYLENE)


def strength(e: Evidence) -> float:
    """The strength as a mass fraction; OutOfRange where the reading has none from 0 to 0.6."""
    reading = e.reading("glycol_strength")
    sample = reading.sample_temperature
    if sample is None and reading.value.dimension == "brix":
        raise LookupError("a rule asked for a strength without having SAMPLE among its needs")
    at = ROOM if sample is None else sample.value
    return strength_by_scale(reading.value.value, reading.value.dimension, sample_temperature=at)


def strength_if_known(e: Evidence) -> float | None:
    """The strength, None where the readings do not give one."""
    return strength(e) if all(need.found(e) for need in NEEDED) else None


def target(e: Evidence) -> float | None:
    """The unit's target strength, as a mass fraction."""
    wanted = e.bath.target_strength
    return None if wanted is None else strength_by_scale(wanted.value, wanted.dimension)


@lru_cache(maxsize=1024)
def uncompensated(brix: float, sample: float) -> float:
    """The strength from a Brix reading on an instrument without temperature compensation."""
    return strength_from_brix(reading=brix, sample_temperature=sample, compensated=False)
