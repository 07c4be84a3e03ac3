"""The air of the condenser: what enters it, read there, else the ambient air; and by how much it warms up."""

from service.domain.assessment.evidence import Evidence
from service.domain.record.visits import Reading

AIR = {"condenser_air_in_temperature": "air entering", "ambient_temperature": "ambient air"}
"""The quantities that show it, the better one first, as a sentence names them."""


def air_reading(e: Evidence) -> Reading | None:
    """The reading of the air that enters the condenser."""
    return next((e.reading(quantity) for quantity in AIR if e.has(quantity)), None)


def air_entering(e: Evidence) -> float | None:
    """The air that enters the condenser [K]."""
    reading = air_reading(e)
    return None if reading is None else reading.value.value


def air_rise_of(e: Evidence) -> float | None:
    """By how much the condenser's air warms up [K]; None where it was not read."""
    if not (e.has("condenser_air_in_temperature") and e.has("condenser_air_out_temperature")):
        return None
    return e.value("condenser_air_out_temperature") - e.value("condenser_air_in_temperature")
