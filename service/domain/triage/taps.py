"""What the readings at the taps show: the latest of each, how many are warm, whether only first glasses are."""

from collections.abc import Iterator, Sequence

from service.domain.record.fleet import Unit
from service.domain.record.visits import Reading
from service.domain.triage.derived import COLD_BESIDE, SEVERAL_WARM

LEAST_TAPS, USUAL_TAPS = 3, 6
READ_ELSEWHERE = 0.6  # of the share of taps not read; common practice, no source
DIFFER = 3.0  # [K] between taps that are not alike


def put_taps(readings: Sequence[Reading], values: dict[str, float], source: dict[str, Reading]) -> None:
    """The warmest tap, and the coldest where there are several."""
    taps = sorted(_latest_of_taps(readings).values(), key=lambda each: each.value.value)
    if taps:
        values["tap_warm"], source["tap_warm"] = taps[-1].value.value, taps[-1]
    if len({each.tap for each in taps}) > 1:
        values["tap_cold"], source["tap_cold"] = taps[0].value.value, taps[0]


def _latest_of_taps(readings: Sequence[Reading]) -> dict[str | None, Reading]:
    """The latest reading of each tap: the first glass stood in the line."""
    return {each.tap: each for each in timed([r for r in readings if r.quantity == "beer_temperature_at_tap"])}


def of_glasses(readings: Sequence[Reading]) -> Iterator[tuple[str, bool]]:
    """Of taps that were read twice: whether only the first glass was warm."""
    latest = _latest_of_taps(readings)
    taps = [each for each in readings if each.quantity == "beer_temperature_at_tap" and each is not latest[each.tap]]
    colder = [each.value.value - latest[each.tap].value.value > DIFFER for each in taps if each.at]
    if colder:
        yield "first_glass_warm", all(colder)
        yield "every_glass_warm", not any(colder)


def of_taps(unit: Unit, readings: Sequence[Reading]) -> Iterator[tuple[str, bool]]:
    """Of taps that differ: whether two or more are warm, and whether a cold one hangs on the trunk of a warm one."""
    taps = {tap: each.value.value for tap, each in _latest_of_taps(readings).items()}
    if len(taps) < LEAST_TAPS or max(taps.values()) - min(taps.values()) < DIFFER:
        return
    middle = 0.5 * (max(taps.values()) + min(taps.values()))
    warm = {tap for tap, value in taps.items() if value > middle}
    yield SEVERAL_WARM.code, len(warm) > 1
    trunks = [{line.tap for line in trunk.beer_lines} & taps.keys() for trunk in unit.trunks]
    if len(trunks) > 1 and set().union(*trunks) == taps.keys():
        yield COLD_BESIDE.code, any(on & warm and on - warm for on in trunks)


def taps_missed(unit: Unit, readings: Sequence[Reading]) -> float:
    """How probably a tap that alone is warm was not read: the fewer the more taps were, as the warm one is read first.

    Without any reading at a tap nothing follows. Of a unit without recorded lines the usual number of taps counts.
    """
    every = {line.tap for trunk in unit.trunks for line in trunk.beer_lines}
    read = {each.tap for each in readings if each.quantity == "beer_temperature_at_tap"}
    total = len(every | read) if every else max(USUAL_TAPS, len(read))
    return max(READ_ELSEWHERE * (1.0 - len(read) / total), 0.01) if read else 0.5


def timed(readings: Sequence[Reading]) -> list[Reading]:
    """By instant; those without one keep their place before the others."""
    return sorted(readings, key=lambda each: each.at.timestamp() if each.at else float("-inf"))
