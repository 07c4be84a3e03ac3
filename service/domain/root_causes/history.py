"""What the search for root causes reads of a unit's log, cut at a day; days are dates at the site, values SI."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date

from service.domain.quantities import Quantity
from service.domain.record.care import Care
from service.domain.record.failed import may_have_failed
from service.domain.record.fleet import Bath, Component, Supply
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.unit_log import Performed, ReadingTaken, UnitLog

ONE_PHASE, LOWEST, HIGHEST = 115.0, 108.0, 120.0
"""V: rated for a supply of 120 V, by the median reading; one of 100 V is lower, one of 127 V higher (from memory)."""


@dataclass(frozen=True, slots=True)
class FailureHistory:
    """One unit from `start` to `end`; `supply_voltage` in V, `target_strength` as mass fraction.

    `before_installation` counts visits and replacements dated before the unit was installed: one of the dates is wrong.
    """

    tag: str
    start: date
    end: date
    components: tuple[Component, ...] = ()
    retired: bool = False
    before_installation: int = 0
    supply_voltage: float | None = None
    target_strength: float | None = None
    replaced: tuple[PartReplaced, ...] = ()
    readings: tuple[ReadingTaken, ...] = ()
    performed: tuple[Performed, ...] = ()

    @property
    def volts(self) -> float | None:
        """The supply's rated voltage; where it is not recorded 115 V, if the readings can be of no other supply."""
        if self.supply_voltage:
            return self.supply_voltage
        read = sorted(t.reading.value.value for t in self.readings if t.reading.quantity == "supply_voltage")
        return ONE_PHASE if read and LOWEST <= read[len(read) // 2] <= HIGHEST else None

    @property
    def parts(self) -> dict[str, Component]:
        """The components by code."""
        return {part.code: part for part in self.components}

    def until(self, day: date) -> "FailureHistory":
        """The history as it could be known on a day: nothing later, and nothing behind its own end."""
        end = min(day, self.end)
        return replace(
            self,
            end=end,
            replaced=tuple(part for part in self.replaced if part.on <= end),
            readings=tuple(taken for taken in self.readings if taken.on <= end),
            performed=tuple(task for task in self.performed if task.on <= end),
        )


def history_of(log: UnitLog, day: date) -> FailureHistory:
    """The history of a unit up to a day; what was reported as done before our care is among `performed`."""
    unit, care = log.unit, log.care
    replaced = tuple(part for part in log.replaced() if part.on <= day)
    days = [*(part.on for part in replaced if part.exact), *(visit.day for visit in log.visits if visit.day <= day)]
    installed = unit.installed_on
    return FailureHistory(
        tag=unit.tag,
        start=watched_from(care.care_from or unit.registered_on, installed, [*days, day]),
        end=min(unit.retired_on or day, day),
        components=unit.components,
        retired=unit.retired_on is not None and unit.retired_on <= day,
        before_installation=0 if installed is None else sum(each < installed for each in days),
        supply_voltage=si((unit.supply or Supply()).voltage, "voltage"),
        target_strength=si((unit.bath or Bath()).target_strength, "mass_fraction"),
        replaced=replaced,
        readings=tuple(taken for taken in log.readings() if taken.on <= day),
        performed=(*_done_before(care), *(task for task in log.performed() if task.on <= day)),
    )


def watched_from(care_from: date, installed_on: date | None, days: Iterable[date]) -> date:
    """From when a unit's failures are counted: our care, its installation if that was later, or the earliest record.

    Of the years before, nobody knows whether anything failed: they do not count as years without a failure.
    """
    return min([max(care_from, installed_on or care_from), *days])


def last_day(history: FailureHistory) -> int:
    """The last day of a history as an ordinal; it has one day at least."""
    return max(history.end.toordinal(), history.start.toordinal())


def _done_before(care: Care) -> Iterator[Performed]:
    """Work reported as done before our care, on the first day that the report allows."""
    for each in care.last_done:
        if each.earliest is not None:
            yield Performed(each.task, each.earliest, "done", None, None, by="others", reported=each.on)


def may_have_failed_twice(log: UnitLog) -> bool:
    """Whether parts of one kind may have failed on two days, which is the least that a search asks for."""
    days: dict[str, set[date]] = defaultdict(set)
    for part in log.replaced():
        if may_have_failed(part):
            days[part.kind].add(part.on)
    return any(len(each) > 1 for each in days.values())


def si(quantity: Quantity | None, dimension: str) -> float | None:
    """The SI value, None where there is none in this dimension."""
    return quantity.value if quantity is not None and quantity.dimension == dimension else None
