"""Whether a control holds the head up or a fan that stands lets it rise: then split and subcooling show no dirt."""

from service.domain.assessment.evidence import Evidence
from service.domain.assessment.motors import runs, stands
from service.domain.assessment.refrigerant_of import condensing, refrigerant_of
from service.domain.physics.ranges import below

COLD_AIR = 288.7  # K, 60 °F: below it head-pressure control holds the head up by slowing the air; common practice
HELD_HEAD = 313.7  # K, 105 °F: such control holds condensing between some 80 and 100 °F; common practice


def may_be_held(*, condensing: float, air: float) -> bool:
    """Whether a control may hold the head up: both in [K]."""
    return below(air, COLD_AIR) and below(condensing, HELD_HEAD)


def without_fan(e: Evidence) -> bool:
    """Whether the compressor runs against a condenser whose fan stands: then nothing of the circuit shows its charge.

    A control stops a fan while the head is low, and the circuit then runs as it should.
    """
    if not (stands(e, "condenser_fan") and runs(e, "compressor")):
        return False
    read = e.has("discharge_pressure") and refrigerant_of(e) is not None
    return not read or condensing(e) > HELD_HEAD
