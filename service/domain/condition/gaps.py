"""What is missing from a unit's condition, and why."""

from collections.abc import Iterator, Sequence

from service.domain.condition.figures import Known, split_of, strength_of
from service.domain.condition.latest import LatestReading, Missing, newest
from service.domain.record.fleet import Unit
from service.domain.record.unit_log import ReadingTaken

DRAWING = ("pump", "pump_motor", "compressor", "condenser_fan", "agitator")
ALWAYS = ("bath_temperature", "glycol_strength", "ambient_temperature", "supply_voltage")
NEVER = "never read at a visit that counts"
NO_RATING = "the component's rated current is not recorded"
NO_STRENGTH = "the last reading gives none from 0 to 60 mass%; one in Brix needs the sample's temperature, 10 to 30 °C"
NO_SPLIT = "no visit read head pressure and air at the condenser together, or the refrigerant is not recorded"
NO_CLEAN_SPLIT = "the unit's clean split is not recorded: read it after the next cleaning"


def missing(
    unit: Unit, readings: Sequence[ReadingTaken], latest: Sequence[LatestReading], known: Known
) -> tuple[Missing, ...]:
    """What is missing of this unit."""
    read = {(each.quantity, each.component, each.tap) for each in latest}
    return (*_never_read(unit, read), *_not_derived(unit, readings, known))


def _never_read(unit: Unit, read: set[tuple[str, str | None, str | None]]) -> Iterator[Missing]:
    for quantity in ALWAYS:
        if (quantity, None, None) not in read:
            yield Missing(of=quantity, why=NEVER)
    for component in _drawing(unit):
        if ("current", component, None) not in read:
            yield Missing(of="current", component=component, why=NEVER)
    for tap in dict.fromkeys(line.tap for trunk in unit.trunks for line in trunk.beer_lines):
        if ("beer_temperature_at_tap", None, tap) not in read:
            yield Missing(of="beer_temperature_at_tap", tap=tap, why=NEVER)


def _not_derived(unit: Unit, readings: Sequence[ReadingTaken], known: Known) -> Iterator[Missing]:
    for component in _drawing(unit):
        if component not in known.ratings:
            yield Missing(of="current_share", component=component, why=NO_RATING)
    strength = newest(readings, "glycol_strength")
    if strength is not None and strength_of(strength.reading, known.glycol) is None:
        yield Missing(of="glycol_strength", why=NO_STRENGTH)
    if not split_of(readings, known):
        yield Missing(of="condenser_split", why=NO_SPLIT)
    if known.clean_split is None:
        yield Missing(of="clean_split", why=NO_CLEAN_SPLIT)


def _drawing(unit: Unit) -> list[str]:
    """The components in place that draw current."""
    return [part.code for part in unit.components if part.kind in DRAWING and part.removed_on is None]
