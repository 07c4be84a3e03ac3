"""The figures of the document in sentences."""

from collections.abc import Iterator, Sequence
from typing import Any

from service.domain.quantities import format_quantity
from service.domain.summary.document import ServiceSummary, UnitSummary
from service.domain.summary.lines import (
    Cause,
    KindCount,
    OutageTotal,
    PmCount,
    Refrigerant,
    ReplacementCount,
    RootCauseCount,
    RootCauseLine,
    TimeOnSite,
)
from service.domain.summary.sentences import HOUR, hours_range, hours_text, share_text
from service.rendering.year.tables import sentence, words

SLIGHT = 0.01


def counted(kinds: Sequence[KindCount], replaced: ReplacementCount) -> list[list[str]]:
    """Visits by kind and replacements: what, by us, by others, in all."""
    visits = [(f"visits: {words(each.kind)}", each.ours, each.others) for each in kinds]
    parts = ("replacements", replaced.ours, replaced.others)
    return [[name, str(ours), str(others), str(ours + others)] for name, ours, others in (*visits, parts)]


def visits(kinds: Sequence[KindCount]) -> str:
    """Only the kinds that there were."""
    shown = [
        f"{words(each.kind)} {each.ours + each.others}" + (f" ({each.others} by others)" if each.others else "")
        for each in kinds
        if each.ours or each.others
    ]
    return f"Visits: {', '.join(shown) or 'none'}."


def time_on_site(counted: TimeOnSite) -> str:
    """Hours on site, and of how many visits."""
    total = counted.total.value / HOUR
    return f"Time on site: {total:.1f} h, from the {counted.timed} of {counted.visits} visits whose end is recorded."


def pm(counted: PmCount) -> str:
    """PM in each state."""
    return (
        f"PM: {counted.judged} judged, {counted.on_time} on time, {counted.late} late, {counted.missed} missed; "
        f"first on record {counted.first}, never recorded {counted.never_recorded}."
    )


def without(counted: OutageTotal) -> str:
    """How often and how long there was no cold beer."""
    return f"Outages (no cold beer): {counted.outages}, in all {hours_range(counted)}."


def parts(counted: ReplacementCount) -> str:
    """Replacements by reason, by whom, and how we know."""
    return (
        f"Replacements: {counted.total} in all. Failed {counted.failed}, precaution {counted.precaution}, "
        f"upgrade {counted.upgrade}, reason unknown {counted.unknown}. By us {counted.ours}, by others "
        f"{counted.others}. Seen by us {counted.seen}, reported to us {counted.reported}."
    )


def refrigerant(moved: Refrigerant, system: str) -> Iterator[str]:
    """Nothing where no amount is recorded; that is among what is not known."""
    both = (("added", moved.added), ("recovered", moved.recovered))
    shown = [f"{what} {format_quantity(mass, system)}" for what, mass in both if mass is not None]
    if shown:
        yield f"Refrigerant: {', '.join(shown)}."


def root_causes(counted: RootCauseCount) -> Iterator[str]:
    """How many root causes are in each state; nothing where there is none."""
    if counted.total:
        yield (
            f"Root causes: {counted.total}; open {counted.open}, confirmed {counted.confirmed}, "
            f"dismissed {counted.dismissed}, resolved {counted.resolved}."
        )


def unit_figures(unit: UnitSummary) -> list[dict[str, str]]:
    """The three figures of a unit, each with what lies behind it."""
    cold, pm, parts = unit.without_cold_beer, unit.pm, unit.replaced
    return [
        {"text": hours_text(cold), "label": "Hours without cold beer", "more": f"Outages: {cold.outages}."},
        {
            "text": share_text(pm),
            "label": "PM on time",
            "more": f"Late {pm.late}, missed {pm.missed}; first {pm.first}, never recorded {pm.never_recorded}.",
        },
        {
            "text": str(parts.failed),
            "label": "Parts failed",
            "more": f"Of {parts.total} replaced; precaution {parts.precaution}, upgrade {parts.upgrade}, "
            f"unknown {parts.unknown}; by us {parts.ours}, by others {parts.others}; seen {parts.seen}, "
            f"reported {parts.reported}.",
        },
    ]


def root_cause(found: RootCauseLine) -> dict[str, Any]:
    """The root cause as heading and sentences: its evidence, what was decided, whether the remedy worked."""
    likely = ", ".join(_likely(found.causes))
    return {
        "title": f"{words(found.kind)}: tier {found.tier}, {found.state}".capitalize(),
        "sentences": [
            sentence(found.explanation),
            f"First seen on {found.first_seen_on}. Probability of chance: {100 * found.probability_of_chance:.3g} %.",
            f"Competing causes: {likely}." if likely else "",
            *_what_to_do(found),
            *_decided(found),
            *_after_remedy(found),
        ],
    }


def _likely(causes: Sequence[Cause]) -> Iterator[str]:
    """Each with its probability, those under SLIGHT together."""
    shown = [each for each in causes if each.probability >= SLIGHT]
    yield from (f"{words(each.cause)} {100 * each.probability:.0f} %" for each in shown)
    slight = [words(each.cause) or "" for each in causes if each.probability < SLIGHT]
    if slight:
        yield f"under 1 %: {', '.join(slight)}"


def _what_to_do(found: RootCauseLine) -> Iterator[str]:
    """The next check and the remedy, where the explanation does not name them."""
    for label, text in (("Next check", found.next_check), ("Remedy", found.remedy)):
        if text not in found.explanation:
            yield sentence(f"{label}: {text}")


def _decided(found: RootCauseLine) -> Iterator[str]:
    if found.decided_on is not None:
        reason = f": {found.why}" if found.why else ""
        yield sentence(f"{found.state.capitalize()} on {found.decided_on} by {found.decided_by}{reason}")
    if found.resolved_on is not None:
        yield f"Resolved on {found.resolved_on}."


def _after_remedy(found: RootCauseLine) -> Iterator[str]:
    if found.verdict is not None:
        chance = (
            "" if found.chance is None else f" At one and the same rate that has a probability of {found.chance:.2g}."
        )
        yield (
            f"Failures: {found.failed_before} in {found.years_before:.1f} component-years before the remedy, "
            f"{found.failed_after} in {found.years_after:.1f} after it.{chance} {found.verdict.capitalize()}."
        )


def data(summary: ServiceSummary) -> str:
    """The records behind the figures, and where the readings are."""
    state, latest = summary.data_state, summary.data_state.latest_visit_at
    visited = f", the latest visit on {latest:%Y-%m-%d %H:%M} UTC" if latest else ""
    return (
        f"{state.visits} visits and {state.units} units, as of {summary.as_of:%Y-%m-%d %H:%M} UTC{visited}; data "
        f"{state.digest}; glycol-fleet {summary.program_version}. The plan runs from {summary.plan_from} to "
        f"{summary.plan_to}. The workbook and the CSV of this summary hold every reading, as entered."
    )
