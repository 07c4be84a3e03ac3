"""What we did in a year, as a letter says it: how often we came, what we maintained, replaced and removed."""

from collections import Counter
from collections.abc import Iterator, Sequence

from service.domain.messages import gettext, joined, ngettext, term
from service.domain.record.failed import counted_as
from service.domain.summary.document import UnitSummary
from service.domain.summary.lines import VisitLine
from service.domain.summary.root_causes import RESOLVED
from service.domain.summary.sentences import counted

MOST_NAMED = 3
REPLACED = {
    "failed": gettext("Replaced because it failed: {parts}."),
    "precaution": gettext("Replaced before it failed: {parts}."),
    "upgrade": gettext("Replaced for a better one: {parts}."),
    "unknown": gettext("Replaced for a reason that is not recorded: {parts}."),
}


def done(units: Sequence[UnitSummary], year: int) -> tuple[str, ...]:
    """What we did in the year."""
    return (*_visited(units), *_maintained(units), *_replaced(units), *_resolved(units, year))


def _visited(units: Sequence[UnitSummary]) -> Iterator[str]:
    """How often we came: an arrival at which we worked at several units is one visit to the customer."""
    ours = [visit for unit in units for visit in unit.visits if visit.by == "us"]
    if not ours:
        return
    made = len({_arrival(visit) for visit in ours})
    called = len({_arrival(visit) for visit in ours if visit.kind == "service_call"})
    visits = ngettext("{count} visit", "{count} visits", made)
    if len({unit.tag for unit in units}) > 1:
        seen = len({visit.unit for visit in ours})
        visits = gettext("{visits} to {units}", visits=visits, units=ngettext("{count} unit", "{count} units", seen))
    if not called:
        yield gettext("{visits}.", visits=visits)
    elif called < made:
        yield gettext("{visits}, {called} of them because you called.", visits=visits, called=called)
    elif called == 1:
        yield gettext("{visits}, because you called.", visits=visits)
    else:
        yield gettext("{visits}, all of them because you called.", visits=visits)


def _arrival(visit: VisitLine) -> str:
    return visit.attendance or visit.id


def _maintained(units: Sequence[UnitSummary]) -> Iterator[str]:
    """What was done on the days of our own visits; others' work counts as done, but is not ours."""
    names: Counter[str] = Counter()
    for unit in units:
        ours = {visit.on for visit in unit.visits if visit.by == "us"}
        names.update(line.name for line in unit.pm_lines if line.done_on in ours)
    if names:
        most = [joined((term(name.lower()), str(times))) for name, times in names.most_common(MOST_NAMED)]
        tasks = ngettext("{count} maintenance task", "{count} maintenance tasks", names.total())
        shown = {"tasks": tasks, "names": joined(most, ", ")}
        more = len(names) > MOST_NAMED
        yield (
            gettext("{tasks} done: {names} and others.", **shown)
            if more
            else gettext("{tasks} done: {names}.", **shown)
        )


def _replaced(units: Sequence[UnitSummary]) -> Iterator[str]:
    for reason, message in REPLACED.items():
        parts = [part for unit in units for part in unit.replacements if counted_as(part) == reason and part.by == "us"]
        if parts:
            kinds = Counter(part.kind.replace("_", " ") for part in parts)
            yield gettext(message, parts=joined((counted(times, kind) for kind, times in sorted(kinds.items())), ", "))


def _resolved(units: Sequence[UnitSummary], year: int) -> Iterator[str]:
    """The remedies of the year that still stand; of one that failed again nothing was removed."""
    resolved = [each for unit in units for each in unit.root_causes if each.state == RESOLVED]
    for found in (each for each in resolved if each.resolved_on is not None and each.resolved_on.year == year):
        shown = {"unit": found.unit, "kind": term(found.kind), "day": found.resolved_on}
        if found.verdict:
            verdict = term(found.verdict)
            yield gettext(
                "{unit}: the cause of its {kind} failures removed on {day} ({verdict}).", verdict=verdict, **shown
            )
        else:
            yield gettext("{unit}: the cause of its {kind} failures removed on {day}.", **shown)
