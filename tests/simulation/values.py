"""The values of a history in short, and what is learned from many."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time

from service.domain.quantities import Quantity
from service.domain.record.fleet import Component
from service.domain.record.imprecise_days import is_exact, latest_by, uncertain
from service.domain.record.unit_log import Performed, ReadingTaken, UnitLog
from service.domain.record.visits import Reading
from service.domain.root_causes.baselines import Baselines
from service.domain.root_causes.figures import learned, packed, unpacked
from service.domain.root_causes.fitted import Replaced, UnitParts, parts_of
from service.domain.root_causes.history import FailureHistory, history_of


def component(
    code: str, kind: str, feeds: tuple[str, ...] = (), rated: float | None = None, rating: str | None = None
) -> Component:
    """A component; `rated` in A."""
    rated_current = None if rated is None else Quantity(rated, "current", "")
    return Component(code=code, kind=kind, feeds=feeds, rated_current=rated_current, rating=rating)


def taken(
    quantity: str,
    code: str | None,
    value: float,
    dimension: str,
    on: date,
    *,
    as_found: bool = True,
    sample: float | None = None,
) -> ReadingTaken:
    """A reading in SI at noon of a day; `sample` is the sample's temperature in K."""
    reading = Reading(
        quantity=quantity,
        value=Quantity(value, dimension, ""),
        when="as_found" if as_found else "as_left",
        component=code,
        sample_temperature=None if sample is None else Quantity(sample, "temperature", ""),
    )
    return ReadingTaken(reading, datetime.combine(on, time(12), UTC), on, "v")


def done(task: str, on: date, result: str, as_found: str | None = None) -> Performed:
    """A task's result."""
    return Performed(task, on, result, as_found, None)


def learned_of(histories: Iterable[FailureHistory], day: date) -> Baselines:
    """What the night learns on a day from the figures of these histories, which are read one at a time."""
    return learned(unpacked(packed(history, everything=True) for history in histories), day.toordinal())


def parts_of_log(log: UnitLog, day: date) -> UnitParts | None:
    """What was put into a unit by a day, from its log; None where nothing was."""
    put_in = [
        (latest_by(part.on, visit.day), Replaced(
            part.component, log.unit.kinds[part.component], latest_by(part.on, visit.day), part.reason, part.condition,
            part.by == "us", part.item and part.item.maker, part.item and part.item.model,
            tuple(dict.fromkeys(filter(None, [visit.technician, *visit.crew]))),
            part.on is None or is_exact(part.on),
            uncertain(part.on, log.unit.installed_on, latest_by(part.on, visit.day))[1],
        ))
        for visit in log.visits for part in visit.replacements if latest_by(part.on, visit.day) <= day
    ]  # fmt: skip
    history = history_of(log, day)
    replaced = [part for _, part in sorted(put_in, key=lambda each: each[0])]
    return parts_of(log.unit.tag, (history.start, history.end), replaced) if replaced else None
