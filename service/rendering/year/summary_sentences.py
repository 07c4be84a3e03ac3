"""What the document says of its figures in sentences."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from service.domain.quantities import format_quantity
from service.domain.summary.summary import (
    Cause,
    KindCount,
    OutageTotal,
    PmCount,
    Refrigerant,
    ReplacementCount,
    RootCauseCount,
    RootCauseLine,
    ServiceSummary,
    TimeOnSite,
    UnitSummary,
)
from service.domain.summary.words import HOUR, told_hours, told_share
from service.rendering.year.tables import sentence, words

SLIGHT = 0.01


def counted(kinds: Sequence[KindCount], replaced: ReplacementCount) -> list[list[str]]:
    """Visits by kind and replacements: what, by us, by others, in all."""
    visits = [(f"visits: {words(each.kind)}", each.ours, each.others) for each in kinds]
    parts = ("replacements", replaced.ours, replaced.others)
    return [[name, str(ours), str(others), str(ours + others)] for name, ours, others in (*visits, parts)]


def visits(kinds: Sequence[KindCount]) -> str:
    """Only the kinds that there were."""
    told = [
        f"{words(each.kind)} {each.ours + each.others}" + (f" ({each.others} by others)" if each.others else "")
        for each in kinds
        if each.ours or each.others
    ]
    return f"Visits: {', '.join(told) or 'none'}."


def time_on_site(counted: TimeOnSite) -> str:
    """Hours on site, and of how many visits."""
    total = counted.total.value / HOUR
    return f"Time on site: {total:.1f} h, from {counted.timed} of {counted.visits} visits whose end was noted."


def pm(counted: PmCount) -> str:
    """PM in each state."""
    return (
        f"PM: {counted.judged} judged, {counted.on_time} on time, {counted.late} late, {counted.missed} missed; "
        f"first on record {counted.first}, never recorded {counted.never_recorded}."
    )


def without(counted: OutageTotal) -> str:
    """How often and how long there was no cold beer."""
    return f"Times without cold beer: {counted.outages}, in all {told_hours(counted)}."


def parts(counted: ReplacementCount) -> str:
    """Replacements, counted four ways."""
    return (
        f"Replacements: {counted.total} in all. Failed {counted.failed}, precaution {counted.precaution}, "
        f"upgrade {counted.upgrade}, reason unknown {counted.unknown}. By us {counted.ours}, by others "
        f"{counted.others}. Seen by us {counted.seen}, reported to us {counted.reported}."
    )


def refrigerant(moved: Refrigerant, system: str) -> Iterator[str]:
    """Nothing where no amount is on record; that is said among what is not known."""
    both = (("added", moved.added), ("recovered", moved.recovered))
    told = [f"{what} {format_quantity(mass, system)}" for what, mass in both if mass is not None]
    if told:
        yield f"Refrigerant: {', '.join(told)}."


def suspected(counted: RootCauseCount) -> Iterator[str]:
    """How many root causes are in each state; nothing where none is suspected."""
    if counted.total:
        yield (
            f"Suspected root causes: {counted.total}; open {counted.open}, confirmed {counted.confirmed}, "
            f"dismissed {counted.dismissed}, resolved {counted.resolved}."
        )


def unit_figures(unit: UnitSummary) -> list[dict[str, str]]:
    """The three figures of a unit, each with what lies behind it."""
    cold, pm, parts = unit.without_cold_beer, unit.pm, unit.replaced
    return [
        {"told": told_hours(cold), "label": "Hours without cold beer", "more": f"Times: {cold.outages}."},
        {
            "told": told_share(pm),
            "label": "PM on time",
            "more": f"Late {pm.late}, missed {pm.missed}; first {pm.first}, never recorded {pm.never_recorded}.",
        },
        {
            "told": str(parts.failed),
            "label": "Parts failed",
            "more": f"Of {parts.total} replaced; precaution {parts.precaution}, upgrade {parts.upgrade}, "
            f"unknown {parts.unknown}; by us {parts.ours}, by others {parts.others}; seen {parts.seen}, "
            f"reported {parts.reported}.",
        },
    ]


def root_cause(case: RootCauseLine) -> dict[str, Any]:
    """The case as heading and sentences: what is suspected, what was decided, what came of it."""
    likely = ", ".join(_likely(case.causes))
    return {
        "title": f"{words(case.kind)}: tier {case.tier}, {case.state}".capitalize(),
        "said": [
            sentence(case.explanation),
            f"First seen {day(case.first_seen_on)}; "
            f"mere luck has a probability of {100 * case.luck_probability:.3g} %.",
            f"Competing causes: {likely}." if likely else "",
            sentence(f"Next check: {case.next_check}"),
            sentence(f"Remedy: {case.remedy}"),
            *_decided(case),
            *_came_of_it(case),
        ],
    }


def _likely(causes: Sequence[Cause]) -> Iterator[str]:
    """Each with its probability, those under SLIGHT together."""
    shown = [each for each in causes if each.probability >= SLIGHT]
    yield from (f"{words(each.cause)} {100 * each.probability:.0f} %" for each in shown)
    slight = [words(each.cause) or "" for each in causes if each.probability < SLIGHT]
    if slight:
        yield f"under 1 %: {', '.join(slight)}"


def _decided(case: RootCauseLine) -> Iterator[str]:
    if case.decided_on is not None:
        reason = f": {case.why}" if case.why else ""
        yield sentence(f"{case.state.capitalize()} on {day(case.decided_on)} by {case.decided_by}{reason}")
    if case.resolved_on is not None:
        yield f"Resolved on {day(case.resolved_on)}."


def _came_of_it(case: RootCauseLine) -> Iterator[str]:
    if case.verdict is not None:
        yield (
            f"Failed {case.failed_before} in {case.years_before:.1f} component-years before the remedy, "
            f"{case.failed_after} in {case.years_after:.1f} after; at one rate that has a chance of {case.chance:.2g}: "
            f"{case.verdict}."
        )


def rests(summary: ServiceSummary) -> str:
    """What the figures rest on, and where the readings are."""
    state, latest = summary.data_state, summary.data_state.latest_visit_at
    visited = f", the latest visit on {latest:%Y-%m-%d %H:%M} UTC" if latest else ""
    return (
        f"{state.visits} visits and {state.units} units, as of {summary.as_of:%Y-%m-%d %H:%M} UTC{visited}; state of "
        f"the data {state.digest}; glycol-fleet {summary.program_version}. The plan runs from {day(summary.plan_from)} "
        f"to {day(summary.plan_to)}. Every reading, with what was typed, stands in the workbook and in the CSV of this "
        "summary."
    )


def day(on: date) -> str:
    """A day as it is read: "9 Jun 2026"."""
    return f"{on.day} {on:%b %Y}"
