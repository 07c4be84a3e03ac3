"""Intervals, and why they are what they are, as a customer reads them."""

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from service.domain.maintenance.fouling import Fouling
from service.domain.maintenance.tasks import Interval
from service.domain.messages import Message, gettext, joined, ngettext, term
from service.domain.record.visits import FOULING

INTERVALS = {
    "day": ("{count} day", "{count} days"),
    "month": ("{count} month", "{count} months"),
}  # the messages of one and of more, which the catalogue lists


@lru_cache(maxsize=1024)
def in_words(interval: Interval) -> Message:
    """The interval; as English text the same as `str(interval)`."""
    return ngettext(*INTERVALS[interval.unit], interval.count)


def interval_sentence(own: Interval | None, used: Interval, reasons: Sequence[str]) -> str:
    """The interval that holds, the task's own where that is another, and why."""
    if not reasons or own is None:
        return gettext("interval {interval}", interval=in_words(used))
    shown = {"interval": in_words(used), "reasons": joined(reasons, ", ")}
    if used == own:
        return gettext("interval {interval}: {reasons}", **shown)
    return gettext("interval {interval} instead of {own}: {reasons}", own=in_words(own), **shown)


@lru_cache(maxsize=2048)
def learned_reason(grades: int, known: Fouling, surroundings: str | None, chance: str) -> str:
    """The chance at the end of the interval, and what it was learned from."""
    shown = {
        "own": ngettext("{count} grade of this unit", "{count} grades of this unit", grades),
        "fleet": _of_fleet(known) if known.units else gettext("what is usual"),
        "chance": chance,
    }
    if surroundings:
        shown["fleet"] = gettext("{fleet} in {surroundings} surroundings", surroundings=term(surroundings), **shown)
    return gettext("by then {chance} chance of heavy fouling or worse, learned from {own} and {fleet}", **shown)


def _of_fleet(known: Fouling) -> str:
    grades = ngettext("{count} grade", "{count} grades", known.grades)
    return ngettext("{grades} of {count} unit", "{grades} of {count} units", known.units, grades=grades)


def grade_reasons(steps: Mapping[str, Sequence[int]]) -> Iterator[str]:
    """The steps by what was found: how often each changed the interval, and to which length at last."""
    for grade, lengths in steps.items():
        if lengths and grade == "clean":
            yield _lengthened_reason(lengths)
        elif lengths:
            yield _shortened_reason(lengths, term(FOULING[grade]))


def _shortened_reason(lengths: Sequence[int], found: str) -> str:
    """How often, and to which length at last."""
    shown = {"interval": in_words(Interval(lengths[-1], "day")), "found": found}
    return ngettext(
        "shortened to {interval} because {found}",
        "shortened {count} times, last to {interval}, because {found}",
        len(lengths), **shown,
    )  # fmt: skip


def _lengthened_reason(lengths: Sequence[int]) -> str:
    return ngettext(
        "lengthened to {interval} because clean twice in a row",
        "lengthened {count} times, last to {interval}, because clean twice in a row",
        len(lengths), interval=in_words(Interval(lengths[-1], "day")),
    )  # fmt: skip


def limit_reason(wished: float, *, shortest: int, longest: int) -> tuple[str, ...]:
    """Which end of the task's range the interval was held at, if it was."""
    if wished < shortest:
        return (gettext("limited to the shortest allowed"),)
    return (gettext("limited to the longest allowed"),) if wished > longest else ()
