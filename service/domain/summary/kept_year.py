"""A unit's year without the days: all that no later day changes while nothing more is recorded, and a day's summary.

Working this out from a unit's history is most of the work of a letter; what a day adds is counted from what is due.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, NamedTuple

from service.domain.bench.figures import figure
from service.domain.condition.figures import known_of
from service.domain.condition.latest import Worry
from service.domain.condition.worries import unanswered
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.unit_log import ReadingTaken, UnitLog
from service.domain.record.visits import Visit
from service.domain.summary import actions, counts, outage_totals, pm, sentences, series
from service.domain.summary.document import UnitSummary
from service.domain.summary.for_customer import FoundHere, found_here, root_causes_for_customer
from service.domain.summary.lines import DaysOut, ReadingLine, ReplacementLine, VisitLine
from service.domain.summary.unit_year import UnitYear
from service.domain.summary.window import Window


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptYear:
    """A unit's year: in `summary` its PM lines are those done, and what depends on the day is empty; see `on_day`.

    `counts`, `has_left` and `digest` are as in `UnitYear`; `visits` are those on record by the window's end.
    """

    summary: UnitSummary
    counts: bool
    has_left: bool
    digest: str
    visits: int
    latest_visit_at: datetime | None
    worries: tuple[Worry, ...]
    dangers: tuple[str, ...]
    root_causes: tuple[FoundHere, ...]
    standing: pm.Standing

    def on_day(self, window: Window) -> UnitSummary:
        """The unit's summary at the end of a window."""
        summary, stood = self.summary, self.standing
        lines = (*summary.pm_lines, *pm.undone(stood, window))
        plan = () if summary.moved_out_on else pm.plan(stood, window)
        found = actions.Found(
            tag=summary.tag,
            visits=summary.visits,
            dangers=self.dangers,
            worries=self.worries,
            root_causes=[each.line for each in self.root_causes],
            pm_lines=lines,
            plan=plan,
            plan_from=window.plan_from,
            out=self.has_left,
            cleans=stood.cleans,
        )
        return replace(
            summary,
            pm=pm.pm_count(Counter(line.state for line in lines)),
            pm_lines=lines,
            plan=plan,
            actions=actions.actions(found),
            root_causes=tuple(root_causes_for_customer(self.root_causes, lines, window.first.year, ours=stood.cleans)),
        )


class InWindow(NamedTuple):
    """A unit's year, the days that are reported of it, and its summary of these days."""

    kept: KeptYear
    window: Window
    shown: UnitSummary


def kept_year(year: UnitYear) -> KeptYear:
    """A unit's year as it is kept."""
    log, on_record = year.log, [visit for visit in year.visits_on_record if visit.day <= year.window.last]
    return KeptYear(
        summary=_summary(year),
        counts=year.counts,
        has_left=year.has_left,
        digest=year.digest,
        visits=len(on_record),
        latest_visit_at=max((visit.arrived_at for visit in on_record), default=None),
        worries=unanswered(UnitLog(unit=log.unit, site=log.site), year.visits, actions.ADVISING),
        dangers=actions.dangers_of(year.visits),
        root_causes=found_here(year),
        standing=year.standing,
    )


def _summary(year: UnitYear) -> UnitSummary:
    log, tag, measured = year.log, year.log.unit.tag, _measured(year)
    shown = {name: measured[name] for name in ("beer", "glycol", "condenser")}
    parts = tuple(_replacement_line(tag, part) for part in year.replaced)
    theirs = counts.unwitnessed(parts, year.outages)
    return UnitSummary(
        **_about(year),
        **measured,
        out_of_service=tuple(_days_out(year)),
        visits_by_kind=counts.visits_by_kind(year.visits),
        time_on_site=counts.time_on_site(year.visits),
        pm=pm.pm_count({}),
        pm_lines=tuple(line for line in year.pm_lines if line.done_on is not None),
        outages=year.outages,
        without_cold_beer=outage_totals.total(year.outages),
        replacements=parts,
        replaced=counts.replaced(year.replaced),
        refrigerant=counts.refrigerant(measured["refrigerant_moves"]),
        actions=(),
        plan=(),
        gaps=sentences.gaps(tag, visits=year.visits, found=year.outages, theirs=theirs, **shown),
        visits=tuple(_visit_line(log, visit) for visit in year.visits),
    )


def _measured(year: UnitYear) -> dict[str, Any]:
    """What the visits of a year measured at a unit."""
    unit, visits = year.log.unit, year.visits
    known = known_of(unit, year.log.elevation)
    by_visit = [series.visit_figures(visit, known) for visit in visits]
    taken = [each for one in by_visit for each in one.readings]
    return {
        "beer": series.before_after(by_visit, "beer_temperature_at_tap"),
        "bath": series.before_after(by_visit, "bath_temperature"),
        "set_point": None if known.set_point is None else figure(known.set_point, "temperature"),
        "glycol": series.glycol(by_visit, known),
        "condenser": series.condenser(by_visit, known),
        "currents": series.currents(taken, known),
        "refrigerant_moves": series.refrigerant_moves(unit.tag, taken),
        "readings": tuple(_reading_line(unit.tag, each) for each in taken),
    }


def _about(year: UnitYear) -> dict[str, Any]:
    """Which unit it is, and where."""
    names = ("tag", "site", "place", "maker", "model", "installed_on")
    site = year.log.site
    return {name: getattr(year.log.unit, name) for name in names} | {
        "retired_on": year.window.by_end(year.log.unit.retired_on),
        "site_name": site.name,
        "time_zone": site.time_zone,
        "moved_in_on": year.moved_in_on,
        "moved_out_on": year.moved_out_on,
    }


def _days_out(year: UnitYear) -> Iterator[DaysOut]:
    """The spans out of service that lie in the window in part."""
    for span in year.standing.away:
        if span.first <= year.window.last and (span.last is None or span.last >= year.window.first):
            yield DaysOut(first=span.first, last=span.last, of=span.of)


def _visit_line(log: UnitLog, visit: Visit) -> VisitLine:
    complaint, seconds = log.complaint_of(visit), counts.seconds_on_site(visit)
    return VisitLine(
        id=visit.id,
        unit=visit.unit,
        on=visit.day,
        arrived_at=visit.arrived_at,
        left_at=visit.left_at,
        kind=visit.kind,
        by=visit.by,
        evidence=visit.evidence,
        technician=visit.technician,
        symptom=complaint.symptom if complaint else None,
        reported_at=complaint.reported_at if complaint else None,
        words=complaint.words if complaint else None,
        work=visit.work,
        advice=visit.advice,
        outcome=visit.outcome,
        time_on_site=None if seconds is None else figure(seconds, "time"),
        attendance=visit.attendance,
    )


def _replacement_line(tag: str, part: PartReplaced) -> ReplacementLine:
    return ReplacementLine(
        unit=tag,
        component=part.component,
        kind=part.kind,
        on=part.on,
        reason=part.reason,
        condition=part.condition,
        evidence=part.evidence,
        by=part.by,
        visit=part.visit,
        note=part.note,
        stated=part.stated,
    )


def _reading_line(tag: str, taken: ReadingTaken) -> ReadingLine:
    reading = taken.reading
    return ReadingLine(
        visit=taken.visit,
        unit=tag,
        on=taken.on,
        quantity=reading.quantity,
        component=reading.component,
        tap=reading.tap,
        when=reading.when,
        value=reading.value,
        sample_temperature=reading.sample_temperature,
        evidence=reading.evidence,
        at=reading.at,
    )
