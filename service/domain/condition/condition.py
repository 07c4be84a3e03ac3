"""A unit's condition as it follows from its log."""

from service.domain.condition.figures import derived, known_of
from service.domain.condition.gaps import missing
from service.domain.condition.latest import Condition, latest_readings
from service.domain.condition.trends import trends
from service.domain.record.unit_log import UnitLog


def condition_of(log: UnitLog) -> Condition:
    """The latest readings of the unit, trends, figures that follow from them, and what is missing."""
    readings, known = list(log.readings()), known_of(log.unit)
    latest = latest_readings(readings)
    figures, worries = derived(readings, known)
    return Condition(
        unit=log.unit.tag,
        readings=latest,
        trends=trends(readings, known),
        derived=figures,
        worries=worries,
        missing=missing(log.unit, readings, latest, known),
    )
