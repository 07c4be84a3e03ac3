"""Root causes as the customer reads them: what failed, what we think, what we do, and whose work was missing."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.messages import gettext, joined, ngettext, term
from service.domain.record.failed import is_failure
from service.domain.record.imprecise_days import in_words
from service.domain.summary.actions import CONDENSER, words_of
from service.domain.summary.letter_lines import CustomerRootCause
from service.domain.summary.lines import CLEANINGS, LATE, MISSED, NEVER, PmLine, RootCauseLine
from service.domain.summary.not_done import NotDone
from service.domain.summary.unit_year import UnitYear

DISMISSED = "dismissed"


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundHere:
    """A root cause, and the days of its failures, each with what was written where it is not known exactly."""

    line: RootCauseLine
    days: tuple[tuple[date, str | None], ...]


def found_here(year: UnitYear) -> tuple[FoundHere, ...]:
    """The root causes of a unit's year."""
    return tuple(FoundHere(line=each.line, days=tuple(_days(year, each.line.kind))) for each in year.root_causes)


def root_causes_for_customer(
    found: Iterable[FoundHere], lines: Sequence[PmLine], year: int, *, ours: bool
) -> Iterator[CustomerRootCause]:
    """Those that were not dismissed; `lines` are its PM of the year, `ours` is whether we clean its condenser."""
    for each, days in ((here.line, here.days) for here in found):
        if each.state != DISMISSED:
            words = words_of(each, ours=ours)
            yield CustomerRootCause(
                unit=each.unit,
                kind=each.kind,
                first_seen_on=each.first_seen_on,
                state=each.state,
                failed=_failed(each, days),
                think=words.think,
                do=_do(each, words.do),
                ours=_ours(lines, year, each.not_done) if ours and each.causes[0].cause == CONDENSER else None,
                decided_on=each.decided_on,
                resolved_on=each.resolved_on,
                verdict=term(each.verdict) if each.verdict else None,
            )


def _do(found: RootCauseLine, next_step: str) -> str:
    """The remedy that was made; what we do next where there is none, or it failed again."""
    if found.resolved_on is None:
        over = gettext("It has not failed for a long time: at the next maintenance we will see whether that stays so.")
        return over if found.over else next_step
    if not found.failed_after:
        return gettext("We made the remedy on {day}.", day=found.resolved_on)
    again = ngettext(
        "We made the remedy on {day}, but it failed {count} time since.",
        "We made the remedy on {day}, but it failed {count} times since.",
        found.failed_after, day=found.resolved_on,
    )  # fmt: skip
    return joined((again, next_step))


def _days(year: UnitYear, kind: str) -> list[tuple[date, str | None]]:
    """The days of its failures, each with what was written where it is not known exactly."""
    parts = (part for part in year.replaced_on_record if part.kind == kind and is_failure(part))
    days = {(part.on, part.stated) for part in parts if part.on <= year.window.last}
    return sorted(days, key=lambda each: (each[0], each[1] or ""))


def _failed(found: RootCauseLine, days: Sequence[tuple[date, str | None]]) -> str:
    kind, times = term(found.kind), len(days)
    if not days:
        return gettext("The {kind} has failed more than once.", kind=kind)
    if all(stated is None for _, stated in days):
        return ngettext(
            "The {kind} failed {count} time since {first}, last on {last}.",
            "The {kind} failed {count} times since {first}, last on {last}.",
            times, kind=kind, first=days[0][0].isoformat(), last=days[-1][0].isoformat(),
        )  # fmt: skip
    listed = joined((in_words(stated or day.isoformat()) for day, stated in days), ", ")
    return ngettext(
        "The {kind} failed {count} time: {days}.", "The {kind} failed {count} times: {days}.",
        times, kind=kind, days=listed,
    )  # fmt: skip


def _ours(pm: Iterable[PmLine], year: int, not_done: NotDone | None = None) -> str:
    """Cleaning the condenser is our work; what kept us from it at a visit is said as it was recorded."""
    said = _late_or_missed(pm, year)
    if not_done is None:
        return said
    kept = ngettext(
        "At {count} visit it was not done, last on {day}: {why}.",
        "At {count} visits it was not done, last on {day}: {why}.",
        not_done.visits, day=not_done.last.isoformat(), why=not_done.why.rstrip(". "),
    )  # fmt: skip
    return joined((said, kept))


def _late_or_missed(pm: Iterable[PmLine], year: int) -> str:
    lines = [line for line in pm if line.task in CLEANINGS]
    late, missed = sum(each.state == LATE for each in lines), sum(each.state in (MISSED, NEVER) for each in lines)
    if not late and not missed:
        return gettext("Cleaning it is our work; our dates for it were too far apart.")
    how = [ngettext("late once", "late {count} times", late)] if late else []
    more = ngettext("not done by its date once", "not done by its date {count} times", missed)
    how += [more] if missed else []
    both = how[0] if len(how) == 1 else gettext("{first} and {second}", first=how[0], second=how[1])
    return gettext("Cleaning it is our work: in {year} it was {how}.", year=year, how=both)
