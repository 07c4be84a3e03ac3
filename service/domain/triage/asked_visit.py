"""The readings of a question as a visit, for what an assessment infers from them."""

from collections.abc import Collection, Sequence
from datetime import UTC, datetime

from service.domain.assessment.evidence import gather
from service.domain.assessment.starting import just_started
from service.domain.record.fleet import Unit
from service.domain.record.visits import Observation, Reading, Visit

BEFORE_ALL = datetime(1970, 1, 1, tzinfo=UTC)  # readings without an instant come first
ON_THEIR_WAY = frozenset(
    {
        "suction_pressure",
        "discharge_pressure",
        "suction_line_temperature",
        "liquid_line_temperature",
        "discharge_line_temperature",
        "condenser_bend_temperature",
        "condenser_air_out_temperature",
    }
)


def as_visit(unit: Unit, readings: Sequence[Reading], seen: Collection[str] = ()) -> Visit:
    """A visit with these readings and observations."""
    return Visit(
        id="asked about",
        unit=unit.tag,
        kind="service_call",
        arrived_at=BEFORE_ALL,
        posted_at=BEFORE_ALL,
        posted_by="",
        time_zone="UTC",
        readings=tuple(readings),
        observations=tuple(Observation(code=each) for each in seen),
    )


def steady(unit: Unit, readings: Sequence[Reading]) -> list[Reading]:
    """The readings without those that a compressor just started moves: its current, and what the circuit does."""
    if just_started(gather(as_visit(unit, readings), unit, "si")) is None:
        return list(readings)
    compressors = {code for code, kind in unit.kinds.items() if kind == "compressor"}
    own = [each for each in readings if each.quantity == "current" and each.component in compressors]
    return [each for each in readings if each.quantity not in ON_THEIR_WAY and each not in own]
