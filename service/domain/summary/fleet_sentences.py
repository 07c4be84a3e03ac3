"""What the fleet year says in sentences: headline, gaps, definitions."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from service.domain.maintenance.calendar_days import add_interval
from service.domain.maintenance.tasks import Interval
from service.domain.messages import gettext, joined, ngettext, term
from service.domain.root_causes.engine import PROBABLE, STRONG, WATCH
from service.domain.summary import definitions
from service.domain.summary.document import Definition, Gap, Headline, HeadlineFigure
from service.domain.summary.fleet_lines import FleetRootCause, TaskLine, UnitLine
from service.domain.summary.fleet_unit import FleetUnit
from service.domain.summary.lines import KindCount, OutageTotal, PmCount
from service.domain.summary.sentences import nobody_saw
from service.domain.summary.spans import HOUR, how_long, how_sure, is_known
from service.domain.summary.window import Window

MOST_TO_DO = 5
SHARED = ("Root cause", "Whether it worked")  # as the customers' summaries define them
OWN = tuple(
    Definition(term=term(name), text=term(text))
    for name, text in (
        (
            "Unit in service",
            "In service on some day of the period, or visited or given a new item in it. New or retired: the day of "
            "its installation or retirement lies in the period.",
        ),
        (
            "Visit, repair visit",
            "Work at one unit. A repair visit is a service call or a follow-up; maintenance and installation are "
            "planned work. The visits of a customer, site or unit are ours only. Voided visits do not count.",
        ),
        (
            "Hours on site",
            "From arrival to the end of our visits, as far as the end is recorded; hours to repair are those of repair "
            "visits. Travel is not recorded and not included.",
        ),
        (
            "Visits of a part or cause",
            "Our visits at which such an item was put in, on the visit's own day; for a condition, an item that had "
            "failed and was found so; for a complaint, the visit that took it up; for a root cause, the visits at "
            "which its items failed, dismissed root causes left out. A visit counts once under each cause and may "
            "count under several, so these do not add up to the visits of the year.",
        ),
        (
            "Failed, precaution, upgrade, unknown",
            "Failed: recorded with a replacement as its reason, or, whatever the reason, an item found burnt, seized, "
            "leaking, stuck, broken or with an open circuit. Else the reason recorded. Reported failures count as "
            "those that we saw.",
        ),
        (
            "PM on time, late, missed",
            "As in the service summaries: by the due date as it stood before the task was done; missed when that date "
            "passed without it, also where it was never recorded. A task done for the first time has no due date to be "
            "judged by.",
        ),
        (
            "Tier of a root cause",
            "Watch, probable, strong: the probability of chance is below "
            f"{WATCH:g}, {PROBABLE:g}, {STRONG:g}. The tier does not depend on what was decided; causes are listed by "
            "probability, by the latest search. Dismissed ones are listed here alone.",
        ),
        (
            "What came of decisions",
            "The last decision of the year before on each root cause. Failures and component-years up to the day of "
            "the decision, and after it to the end of the period. Failed again: a failure surely after that day. "
            "Chance: the probability of so many failures by that day at one and the same rate (exact binomial), empty "
            "where nothing failed. A verdict is given on remedies only.",
        ),
        (
            "Hours without cold beer",
            "As in the service summaries: from the first sign that there was none to the first sign that it was over; "
            "what of it was seen, and what is estimated.",
        ),
        (
            "Watched, unit-year",
            "A unit is watched from its installation to its retirement. Where our record of it begins after the "
            "installation, on the day of registration or of our first visit, it is watched from the following day: "
            "what brought it to us does not count. Nor do days out of service. 365.25 days watched are one unit-year.",
        ),
        (
            "Failures per unit-year",
            "Failures while watched, divided by the unit-years. The limits are Garwood's exact 95 % limits of a "
            "Poisson rate. Ranked by the lower limit, so that a single failure in a short time does not lead.",
        ),
        (
            "This year against before",
            "Failures of a kind of component this year and on record before, over all units that have one, compared by "
            "the exact binomial test of two Poisson rates. Chance is the probability of a split as unlikely as this "
            "one at equal rates. A difference is reported below 0.05; of twenty kinds, one will differ that much by "
            "chance.",
        ),
        (
            "Mean cumulative replacements",
            "How many items of a kind a unit has been given by an age, on average over the units watched at each age "
            "(Nelson's mean cumulative function with the robust variance; 95 % limits on the logarithmic scale). The "
            "curve begins at 0 at the first age of the longest span in which at least five units were watched, days "
            "out of service included. Age "
            "counts from the installation, or from the beginning of our record where that is not known.",
        ),
    )
)
DEFINITIONS = (*OWN, *(each for each in definitions.DEFINITIONS if each.term in SHARED))


def headline(  # noqa: PLR0913 - what it sums up
    *,
    year: int,
    units: Sequence[UnitLine],
    visits: Sequence[KindCount],
    repairs: int,
    pm: PmCount,
    without: OutageTotal,
    root_causes: Sequence[FleetRootCause],
    tasks: Sequence[TaskLine],
    unvisited: int,
) -> Headline:
    """How the year went, four figures, and where to look first."""
    ours = sum(count.ours for count in visits)
    share = gettext("{done} of {all}", done=pm.on_time, all=pm.judged) if pm.judged else gettext("not judged")
    unseen = nobody_saw(without, visits)
    visited = {"year": year, "visits": ours, "seen": len(units) - unvisited, "units": len(units), "repairs": repairs}
    went = joined(
        (
            gettext("Our visits in {year}: {visits}, {repairs} to repair, at {seen} of {units} units.", **visited),
            gettext("PM on time: {share}.", share=share),
            gettext("Without cold beer: {hours}.", hours=without_cold_beer(without, visits)),
        )
    )
    figures = (
        HeadlineFigure(code="visits", label=gettext("Our visits"), value=float(ours), text=str(ours)),
        HeadlineFigure(code="repair_visits", label=gettext("Repair visits"), value=float(repairs), text=str(repairs)),
        HeadlineFigure(code="pm_on_time", label=gettext("PM on time"), value=pm.share_on_time, text=share),
        HeadlineFigure(
            code="hours_without_cold_beer",
            label=gettext("Without cold beer"),
            value=None if unseen or not is_known(without) else without.estimated.value / HOUR,
            text=gettext("not known") if unseen else how_long(without),
        ),
    )
    nothing = gettext("No unit was in service in {year}.", year=year)
    to_do = tuple(_to_do(units, root_causes, tasks, unvisited))[:MOST_TO_DO]
    return Headline(how_it_went=went if units else nothing, figures=figures, what_to_do=to_do)


def without_cold_beer(without: OutageTotal, visits: Sequence[KindCount]) -> str:
    """How long, what of it was seen, and what is not known of it: "about 2.5 days, 4.5 h of it seen"."""
    if nobody_saw(without, visits):
        return gettext("not known")
    return joined((how_long(without), *how_sure(without)), ", ")


def _to_do(
    units: Sequence[UnitLine], root_causes: Sequence[FleetRootCause], tasks: Sequence[TaskLine], unvisited: int
) -> Iterator[str]:
    undecided = [each for each in root_causes if each.state == "open" and each.tier != "watch"]
    for each in undecided[:2]:
        yield gettext(
            "{unit}: decide on the root cause of its {kind} failures ({cause}).",
            unit=each.unit, kind=term(each.kind), cause=term(each.cause),
        )  # fmt: skip
    for unit in units[:1]:
        if unit.repair_visits > 1:
            hours = f"{unit.hours_to_repair.value / HOUR:.1f}"
            yield gettext(
                "{unit}: most time to repair, {hours} h at {visits} visits. Find out why.",
                unit=unit.unit, hours=hours, visits=unit.repair_visits,
            )  # fmt: skip
    for task in tasks[:1]:
        if task.missed:
            missed = ngettext("{count} unit", "{count} units", task.missed)
            yield gettext("{task}: missed at {units}. Plan it.", task=task.name, units=missed)
    if unvisited:
        yield ngettext(
            "{count} unit without a visit by us. See the list.",
            "{count} units without a visit by us. See the list.",
            unvisited,
        )


def gaps(units: Sequence[FleetUnit], window: Window) -> tuple[Gap, ...]:
    """What the fleet's record leaves open."""
    ageless = sum(unit.line.installed_on is None for unit in units)
    late = sum(not unit.life.from_installation for unit in units)
    endless = sum(unit.line.visits_without_end for unit in units)
    unwatched = sum(unit.unwatched for unit in units)
    silent = _silent_months(units, window) if units else []
    nameless = sum(unit.line.maker is None for unit in units)
    found = (
        (not units, gettext("No unit was in service in this period.")),
        (
            window.last < date(window.first.year, 12, 31),
            gettext("The figures end on {day}.", day=window.last.isoformat()),
        ),
        (bool(silent), gettext("Months without a visit by us: {months}.", months=", ".join(silent))),
        (
            bool(ageless),
            gettext(
                "Units without a date of installation, whose age counts from our first record: {count}.", count=ageless
            ),
        ),
        (
            bool(late),
            gettext(
                "Units on record only since after their installation, earlier failures unknown: {count}.", count=late
            ),
        ),
        (bool(unwatched), gettext("Failures while their unit was not watched, in no rate: {count}.", count=unwatched)),
        (bool(nameless), gettext("Units without a maker on record, in no model's rate: {count}.", count=nameless)),
        (bool(endless), gettext("Visits without a recorded end, their hours missing: {count}.", count=endless)),
        (True, gettext("Travel is not recorded.")),
    )
    return tuple(Gap(unit=None, sentence=sentence) for is_so, sentence in found if is_so)


def _silent_months(units: Sequence[FleetUnit], window: Window) -> list[str]:
    """The months of the window that are over and in which we visited nobody."""
    visited = frozenset[int]().union(*(unit.months for unit in units))
    starts = [date(window.first.year, month, 1) for month in range(1, 13)]
    ends = [add_interval(start, Interval(1, "month")) - timedelta(days=1) for start in starts]
    return [f"{end:%Y-%m}" for end in ends if end <= window.last and end.month not in visited]
