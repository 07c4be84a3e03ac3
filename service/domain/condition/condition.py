"""A unit's condition as it follows from its log."""

from service.domain.condition.comparable import comparable
from service.domain.condition.figures import derived, known_of
from service.domain.condition.gaps import missing
from service.domain.condition.latest import Condition, latest_readings
from service.domain.condition.trends import trends
from service.domain.condition.worries import worries_of
from service.domain.record.unit_log import UnitLog


def condition_of(log: UnitLog) -> Condition:
    """The latest readings of the unit, trends, figures that follow from them, and what is missing."""
    readings, known = list(log.readings()), known_of(log.unit, log.elevation)
    latest, compared = latest_readings(readings), comparable(log, readings)
    return Condition(
        unit=log.unit.tag,
        readings=latest,
        trends=trends(compared, known),
        derived=derived(compared, known),
        worries=worries_of(log),
        missing=missing(log.unit, readings, latest, known),
    )
