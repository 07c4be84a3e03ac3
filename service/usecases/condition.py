"""Tell how a unit stands by its readings."""

from service.domain.condition.figures import derived, known_of
from service.domain.condition.gaps import missing
from service.domain.condition.latest import Condition, latest_readings
from service.domain.condition.trends import trends
from service.storage.store import Store


def condition_of(store: Store, tag: str) -> tuple[Condition, str]:
    """The unit's condition and the site's time zone; NotFound when there is no such unit."""
    place = store.units.place(tag)
    unit, readings = store.units.get(tag), store.readings.at_unit(place.id)
    known, latest = known_of(unit), latest_readings(readings)
    figures, worries = derived(readings, known)
    condition = Condition(
        unit=unit.tag,
        readings=latest,
        trends=trends(readings, known),
        derived=figures,
        worries=worries,
        missing=missing(unit, readings, latest, known),
    )
    return condition, place.time_zone
