"""The charts of a unit's year: the time line, the temperatures, and what came near a limit."""

from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime, timedelta

from service.domain.assessment.bands import BEER_FREEZES, BEER_UNDER
from service.domain.bench.figures import figure
from service.domain.instants import start_of_day
from service.domain.quantities import Quantity, format_quantity
from service.domain.record.failed import is_failure
from service.domain.summary import spans
from service.domain.summary.document import ServiceSummary, UnitSummary
from service.domain.summary.lines import Outage
from service.domain.summary.measured import BeforeAfter
from service.domain.summary.outages import HOLDS_FOR, LEFT_SERVICE
from service.rendering.words import gettext, term, worded
from service.rendering.year.chart import HALF, Chart, Series, Spell
from service.rendering.year.tables import at_site, in_units, unit_of

WITHOUT, VISITS, PARTS, CAUSES = "no cold beer", "visits", "parts", "root cause"
NEAR = 5 / 1.8  # K: a figure closer to its limit than that is drawn, others are a sentence; judged
FOULED = ("heavy", "blocked")
MARKS = {"service_call": "disc", "maintenance": "ring", "follow_up": "square", "installation": "cross"}
KINDS = {
    "service_call": "service call",
    "maintenance": "maintenance",
    "follow_up": "follow-up",
    "installation": "installation",
}


def time_line(unit: UnitSummary, summary: ServiceSummary) -> Chart:
    """Visits, replacements, outages and root causes on a lane each, where there are any."""
    has = ((CAUSES, unit.root_causes), (PARTS, unit.replacements), (VISITS, unit.visits), (WITHOUT, unit.outages))
    lanes = [name for name, rows in has if rows]
    series = tuple(_on_lanes(unit, {name: float(number) for number, name in enumerate(lanes)}, summary.first_day))
    spells = (_spell(each, unit, lanes.index(WITHOUT), summary) for each in unit.outages)
    return Chart(
        title=gettext("The year of {unit}", unit=unit.tag),
        unit="",
        lanes=tuple(map(term, lanes)),
        series=series,
        spells=tuple(spells),
        first=summary.first_day,
        last=summary.last_day,
    )


def _on_lanes(unit: UnitSummary, lanes: dict[str, float], first: date) -> Iterator[Series]:
    for kind, mark in MARKS.items():
        days = tuple((each.on, lanes[VISITS]) for each in unit.visits if each.kind == kind)
        yield Series(term(KINDS[kind]), days, mark, joined=False)
    failed = tuple((each.on, lanes[PARTS]) for each in unit.replacements if is_failure(each))
    others = tuple((each.on, lanes[PARTS]) for each in unit.replacements if not is_failure(each))
    yield Series(gettext("failed"), failed, "cross", joined=False)
    yield Series(gettext("replaced"), others, "ring", joined=False)
    found = tuple((max(each.first_seen_on, first), lanes[CAUSES]) for each in unit.root_causes)
    yield Series("", found, "square", joined=False)


def _spell(outage: Outage, unit: UnitSummary, lane: int, summary: ServiceSummary) -> Spell:
    stretches = tuple((_day(each.started_at, unit), _day(each.ended_at, unit)) for each in outage.stretches)
    start = max(_day(outage.started_at, unit), summary.first_day)
    span, seen = spans.span_text(outage.estimated.value), spans.seen_text(outage.seen.value)
    about = gettext("about {span}, {seen}", span=worded(span), seen=worded(seen))
    (ends, until), since = _ends(outage, unit), None
    if outage.begin_unknown:
        since = max(outage.earliest_on or date.min, unit.moved_in_on or date.min, summary.first_day)
    return Spell(lane, start, ends, about, stretches, until, since)


def _ends(outage: Outage, unit: UnitSummary) -> tuple[date | None, date | None]:
    """Up to which day some of it counts, and up to which it may have lasted beyond that.

    A call that no visit answers says nothing beyond a week, half of which counts.
    """
    if outage.estimated_high is None:
        return None, _known_again(outage, unit)
    begun = _begun(outage, unit)
    latest = _day(begun + _lasted(outage.estimated_high), unit)
    if outage.ended != LEFT_SERVICE or outage.visit is not None:
        return latest, None
    counted = _day(begun + _lasted(outage.estimated) + HOLDS_FOR / 2, unit)
    return (counted, latest) if counted < latest else (latest, None)


def _known_again(outage: Outage, unit: UnitSummary) -> date | None:
    """The day after an outage without a known end on which something else is known of the unit."""
    last = max((_day(each.ended_at, unit) for each in outage.stretches), default=outage.on)
    visits = (each.on for each in unit.visits if each.outcome != "waiting_for_parts")
    seen = *visits, *(each.on for each in unit.outages), unit.retired_on, unit.moved_out_on
    return min((day for day in seen if day and day > last), default=None)


def _begun(outage: Outage, unit: UnitSummary) -> datetime:
    """When it began in the period, or can have begun."""
    if outage.begin_unknown:
        first = start_of_day(max(unit.moved_in_on or date.min, outage.on.replace(month=1, day=1)), unit.time_zone)
        return max(outage.earliest_at or first, first)
    return start_of_day(outage.on, unit.time_zone) if outage.began_before else outage.started_at


def _lasted(most: Quantity) -> timedelta:
    """All of its time in the period, seen or not."""
    return timedelta(seconds=most.value)


def _day(instant: object, unit: UnitSummary) -> date:
    return at_site(instant, unit).date()  # type: ignore[arg-type, union-attr]


def charts(unit: UnitSummary, summary: ServiceSummary) -> tuple[Chart, ...]:
    """The charts of measured values: temperatures, and the glycol and the condenser where near a limit."""
    near = (_margin, glycol_is_near(unit)), (_split, condenser_is_near(unit))
    made = (_temperatures(unit, summary), *(make(unit, summary) for make, is_near in near if is_near))
    return tuple(each for each in made if not each.empty)


def glycol_is_near(unit: UnitSummary) -> bool:
    """Whether its margin came near the least one."""
    least = unit.glycol.least_margin.value
    return any(each.margin is not None and each.margin.value < least + NEAR for each in unit.glycol.points)


def condenser_is_near(unit: UnitSummary) -> bool:
    """Whether its split came near its limit."""
    both = ((each.split, each.split_limit) for each in unit.condenser)
    return any(split is not None and limit is not None and split.value > limit.value - NEAR for split, limit in both)


def _margin(unit: UnitSummary, summary: ServiceSummary) -> Chart:
    shown, least = summary.units_shown, unit.glycol.least_margin
    points = _points(((each.on, each.margin) for each in unit.glycol.points), shown)
    return Chart(
        title=gettext("Freezing margin of the glycol"),
        width=HALF,
        unit=unit_of("temperature_difference", shown),
        series=(Series(gettext("margin"), points, "disc"),),
        limits=((gettext("at least {value}", value=format_quantity(least, shown)), in_units(least, shown) or 0.0),),
        first=summary.first_day,
        last=summary.last_day,
    )


def _temperatures(unit: UnitSummary, summary: ServiceSummary) -> Chart:
    shown, at = summary.units_shown, unit.set_point
    series = (
        Series(gettext("pour found"), _found(unit.beer, shown), "cross", joined=False),
        Series(gettext("pour left"), _left(unit.beer, shown), "square", joined=False),
        Series(gettext("bath found"), _found(unit.bath, shown), "ring", joined=False),
        Series(gettext("bath left"), _left(unit.bath, shown), "disc", joined=False),
    )
    low, high = (in_units(figure(each, "temperature"), shown) or 0.0 for each in (BEER_FREEZES, BEER_UNDER))
    set_point = (
        ((gettext("bath set to {value}", value=format_quantity(at, shown)), in_units(at, shown) or 0.0),) if at else ()
    )
    return Chart(
        title=gettext("Pour and bath"),
        width=HALF,
        unit=unit_of("temperature", shown),
        series=series,
        limits=set_point,
        band=(gettext("pour cold enough"), low, high),
        first=summary.first_day,
        last=summary.last_day,
    )


def _split(unit: UnitSummary, summary: ServiceSummary) -> Chart:
    """The limit is that of the latest split; the clean one is drawn beside it."""
    shown = summary.units_shown
    known = [each for each in unit.condenser if each.split]
    latest = known[-1] if known else None
    drawn = (
        ((gettext("clean {value}"), latest.clean_split), (gettext("limit {value}"), latest.split_limit))
        if latest
        else ()
    )
    return Chart(
        title=gettext("Condenser: warmer than the air by"),
        width=HALF,
        unit=unit_of("temperature_difference", shown),
        series=(Series(gettext("condenser split"), _points(((each.on, each.split) for each in known), shown), "disc"),),
        limits=tuple(
            (name.format(value=format_quantity(at, shown)), in_units(at, shown) or 0.0) for name, at in drawn if at
        ),
        first=summary.first_day,
        last=summary.last_day,
    )


def _found(pairs: Iterable[BeforeAfter], system: str) -> tuple[tuple[date, float], ...]:
    return _points(((each.on, each.as_found) for each in pairs), system)


def _left(pairs: Iterable[BeforeAfter], system: str) -> tuple[tuple[date, float], ...]:
    return _points(((each.on, each.as_left) for each in pairs), system)


def _points(values: Iterable[tuple[date, Quantity | None]], system: str) -> tuple[tuple[date, float], ...]:
    read: Callable[[Quantity | None], float | None] = lambda each: in_units(each, system)  # noqa: E731
    return tuple((on, number) for on, value in values if (number := read(value)) is not None)
