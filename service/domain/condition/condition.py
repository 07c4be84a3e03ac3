"""A unit's condition as it follows from its log."""

from dataclasses import dataclass, field

from service.domain.bench.fields import described
from service.domain.condition.comparable import comparable
from service.domain.condition.figures import derived, known_of
from service.domain.condition.forecasts import Forecast, forecasts
from service.domain.condition.gaps import missing
from service.domain.condition.latest import Derived, LatestReading, Missing, Trend, Worry, latest_readings
from service.domain.condition.learned import NOTHING_LEARNED, Learned
from service.domain.condition.trends import trends
from service.domain.condition.worries import worries_of
from service.domain.record.unit_log import UnitLog


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """A unit's latest numbers, trends and derived figures; only visits that count are in it."""

    unit: str = field(metadata=described("its tag"))
    readings: tuple[LatestReading, ...] = field(metadata=described("the latest of each quantity and place"))
    trends: tuple[Trend, ...] = field(metadata=described("of what drifts"))
    derived: tuple[Derived, ...] = field(metadata=described("figures that follow"))
    forecasts: tuple[Forecast, ...] = field(metadata=described("when what drifts reaches its limit"))
    worries: tuple[Worry, ...] = field(metadata=described("what the figures say is wrong"))
    missing: tuple[Missing, ...] = field(metadata=described("what is missing, and why"))


def condition_of(log: UnitLog, learned: Learned = NOTHING_LEARNED, system: str = "us") -> Condition:
    """The latest readings of the unit, trends, figures that follow from them, forecasts, and what is missing."""
    readings, known = list(log.readings()), known_of(log.unit, log.elevation)
    latest, compared = latest_readings(readings), comparable(log, readings)
    return Condition(
        unit=log.unit.tag,
        readings=latest,
        trends=trends(compared, known),
        derived=derived(compared, known),
        forecasts=tuple(forecasts(log, compared, known, learned, system)),
        worries=worries_of(log),
        missing=missing(log.unit, readings, latest, known),
    )
