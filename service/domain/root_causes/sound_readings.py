"""Readings that a failure of that day may itself have made, and those that it may not have."""

from service.domain.record.failed import is_failure
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.unit_log import ReadingTaken
from service.domain.root_causes.history import FailureHistory

MOTORS = ("compressor", "pump", "pump_motor", "condenser_fan", "agitator")
STALLED = ("seized", "stuck")  # as found: a motor that draws the current of its locked rotor
HOLDS = ("pump", "pump_motor", "heat_exchanger", "strainer")  # what leaks empties the bath
OF_COMPONENTS = ("terminal_temperature", "contact_voltage_drop")


def sound(history: FailureHistory, quantity: str, codes: set[str]) -> list[ReadingTaken]:
    """Readings of a quantity at some components, or of the unit, without those that a failure may have made."""
    days = {part.on for part in history.replaced}
    read = _all(history, quantity, codes)
    return [each for each in read if each.on not in days or not _made(history, each)]


def sound_or_all(history: FailureHistory, quantity: str, codes: set[str]) -> list[ReadingTaken]:
    """The same; all readings where nothing else was found."""
    return (_all if by_trouble(history, quantity, codes) else sound)(history, quantity, codes)


def by_trouble(history: FailureHistory, quantity: str, codes: set[str]) -> bool:
    """Whether all that was found a failure may have made: of how it was before, that says little."""
    found = [each for each in _all(history, quantity, codes) if each.as_found]
    return bool(found) and all(_made(history, each) for each in found)


def _all(history: FailureHistory, quantity: str, codes: set[str]) -> list[ReadingTaken]:
    read = [each for each in history.readings if each.reading.quantity == quantity]
    return [each for each in read if each.reading.component in codes] if quantity in OF_COMPONENTS else read


def _made(history: FailureHistory, read: ReadingTaken) -> bool:
    """Whether it is of the day of a failure that makes such readings, as found."""
    return read.as_found and any(
        part.on == read.on and is_failure(part) and _makes(part, read) for part in history.replaced
    )


def _makes(part: PartReplaced, read: ReadingTaken) -> bool:
    """A burnt contact is hot, a leak empties the bath, a motor that stalls draws the supply down."""
    if read.reading.quantity == "bath_level":
        return part.condition == "leaking" and part.kind in HOLDS
    if read.reading.quantity == "supply_voltage":
        return part.condition in STALLED and part.kind in MOTORS
    return part.component == read.reading.component
