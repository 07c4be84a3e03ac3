"""What the fleet's year says in sentences: headline, gaps, definitions."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from service.domain.maintenance.calendar_days import add_interval
from service.domain.maintenance.tasks import Interval
from service.domain.summary import definitions
from service.domain.summary.fleet_lines import CaseLine, TaskLine, UnitLine
from service.domain.summary.fleet_unit import UnitYear
from service.domain.summary.records import Window
from service.domain.summary.summary import Definition, Gap, Headline, HeadlineFigure, KindCount, OutageTotal, PmCount
from service.domain.summary.words import HOUR, told_hours

MOST_TO_DO = 5
OF_CASES = ("Root-cause candidate", "Whether it worked")  # told as the customers are told
OWN = tuple(
    Definition(term=term, text=text)
    for term, text in (
        (
            "Unit in service",
            "In service on some day of the time looked at, or visited or given a new item in it. New or retired: its "
            "day of installation or retirement lies in that time.",
        ),
        (
            "Visit, repair visit",
            "One attendance at one unit. A repair visit is a service call or a follow-up; maintenance and installation "
            "are planned work. What a customer, site or unit took counts our visits only. Voided visits do not count.",
        ),
        (
            "Hours on site",
            "From arrival to the end of our visits, as far as the end was noted. Travel is not recorded and not in it.",
        ),
        (
            "Visits of a part or cause",
            "Our visits at which such an item was put in on the visit's own day; with a condition, an item told as "
            "failed and found so; with a complaint, the visit that took it up; with a root cause, the visits at which "
            "the items of its candidates failed, dismissed ones left out. A visit counts once under a word and may "
            "count under several, so these do not add up to the visits of the year.",
        ),
        (
            "Failed, precaution, upgrade, unknown",
            "The reason told with a replacement. Only what is told as failed is a failure; reported ones count as "
            "seen ones do.",
        ),
        (
            "PM on time, late, missed",
            "As in the customers' summaries: by the due date as it stood before the task was done; missed when that "
            "date passed undone. A first performance and a task never recorded have nothing to be judged by.",
        ),
        (
            "Hours without cold beer",
            "From the report of a complaint to the end of the visit that left the unit running, as in the customers' "
            "summaries; a least and a most where visits leave it open.",
        ),
        (
            "Watched, unit-year",
            "A unit is watched from its installation up to its retirement. Where our record of it, which begins on the "
            "day of registration or of our first visit, begins after the installation, it is watched from the day "
            "after: what brought it to us is not counted. 365.25 days watched are a unit-year.",
        ),
        (
            "Failures per unit-year",
            "Failures while watched, divided by the unit-years. The limits are Garwood's exact ones of a Poisson rate "
            "at 95 %. Ranked by the lower limit, so that a single failure in little time does not lead.",
        ),
        (
            "This year against before",
            "Failures of a kind of component, of all units that have one, this year and in the record before, by the "
            "exact binomial test of two Poisson rates: the chance of a split no likelier than this one. A difference "
            "is told below 0.05; among twenty kinds one such comes by luck.",
        ),
        (
            "Mean cumulative replacements",
            "How many items of a kind a unit has had put in by an age, on average over the units watched at each age "
            "on the way (Nelson's mean cumulative function, with the robust variance; limits at 95 % on the scale of "
            "the logarithm). It begins at 0 at the first age of the longest span in which at least five units were "
            "watched. Age counts from the installation, or from the beginning of our record where that is not known.",
        ),
    )
)
DEFINITIONS = (*OWN, *(each for each in definitions.DEFINITIONS if each.term in OF_CASES))


def headline(  # noqa: PLR0913 - what it sums up
    *,
    year: int,
    units: Sequence[UnitLine],
    visits: Sequence[KindCount],
    repairs: int,
    pm: PmCount,
    without: OutageTotal,
    cases: Sequence[CaseLine],
    tasks: Sequence[TaskLine],
    unvisited: int,
) -> Headline:
    """How the year went, four figures, and where to look first."""
    ours = sum(count.ours for count in visits)
    share = f"{pm.on_time} of {pm.judged}" if pm.judged else "not judged"
    went = (
        f"{ours} visits of ours to {len(units)} units in {year}, {repairs} of them to repair. "
        f"PM on time: {share}. Without cold beer: {told_hours(without)}."
    )
    hours = HeadlineFigure(
        code="hours_without_cold_beer",
        label="Hours without cold beer",
        value=without.at_least.value / HOUR,
        told=told_hours(without),
    )
    figures = (
        HeadlineFigure(code="visits", label="Visits of ours", value=float(ours), told=str(ours)),
        HeadlineFigure(code="repair_visits", label="Repair visits", value=float(repairs), told=str(repairs)),
        HeadlineFigure(code="pm_on_time", label="PM on time", value=pm.share_on_time, told=share),
        hours,
    )
    nothing = f"No unit was in service in {year}."
    to_do = tuple(_to_do(units, cases, tasks, unvisited))[:MOST_TO_DO]
    return Headline(how_it_went=went if units else nothing, figures=figures, what_to_do=to_do)


def _to_do(
    units: Sequence[UnitLine], cases: Sequence[CaseLine], tasks: Sequence[TaskLine], unvisited: int
) -> Iterator[str]:
    undecided = [case for case in cases if case.state == "open" and case.tier != "watch"]
    for case in undecided[:2]:
        yield f"{case.unit}: decide on the root cause of its {_plain(case.kind)} failures ({_plain(case.cause)})."
    for unit in units[:1]:
        if unit.repair_visits > 1:
            hours = unit.hours_on_site.value / HOUR
            yield f"{unit.unit}: took the most repair visits, {unit.repair_visits} with {hours:.1f} h on site; ask why."
    for task in tasks[:1]:
        if task.missed:
            yield f"{task.name}: missed at {task.missed} {'unit' if task.missed == 1 else 'units'}; plan it in."
    if unvisited:
        yield f"{unvisited} {'unit has' if unvisited == 1 else 'units have'} had no visit of ours; see the list."


def gaps(units: Sequence[UnitYear], window: Window) -> tuple[Gap, ...]:
    """What the fleet's record does not tell."""
    ageless = sum(unit.line.installed_on is None for unit in units)
    late = sum(not unit.life.from_installation for unit in units)
    endless = sum(unit.line.visits_without_end for unit in units)
    unwatched = sum(unit.unwatched for unit in units)
    silent = _silent_months(units, window) if units else []
    nameless = sum(unit.line.maker is None for unit in units)
    told = (
        (not units, "No unit was in service in this time."),
        (window.last < date(window.first.year, 12, 31), f"The year is told up to {window.last.isoformat()} only."),
        (bool(silent), f"Months without a visit of ours on record: {', '.join(silent)}."),
        (bool(ageless), f"Units without a date of installation, their age counted from our record's start: {ageless}."),
        (bool(late), f"Units that came on record after their installation, their failures before unknown: {late}."),
        (bool(unwatched), f"Failures outside the time in which their units were watched, in no rate: {unwatched}."),
        (bool(nameless), f"Units without a maker on record, in no model's rate: {nameless}."),
        (bool(endless), f"Visits whose end was not noted, their hours missing: {endless}."),
        (True, "Travel is not recorded."),
    )
    return tuple(Gap(unit=None, sentence=sentence) for is_so, sentence in told if is_so)


def _silent_months(units: Sequence[UnitYear], window: Window) -> list[str]:
    """The months of the window that are over and in which nobody of ours was anywhere."""
    visited = frozenset[int]().union(*(unit.months for unit in units))
    starts = [date(window.first.year, month, 1) for month in range(1, 13)]
    ends = [add_interval(start, Interval(1, "month")) - timedelta(days=1) for start in starts]
    return [f"{end:%b}" for end in ends if end <= window.last and end.month not in visited]


def _plain(code: str) -> str:
    return code.replace("_", " ")
