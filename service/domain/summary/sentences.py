"""What the service summary says in sentences: the hours, shares, and what is not known."""

from collections.abc import Iterable, Sequence
from datetime import date

from service.domain.record.visits import Visit
from service.domain.summary.document import Gap, HeadlineFigure, UnitSummary
from service.domain.summary.lines import (
    Outage,
    OutageTotal,
    PmCount,
    Refrigerant,
)
from service.domain.summary.measured import BeforeAfter, CondenserPoint, GlycolYear
from service.domain.summary.window import Window

HOUR = 3600.0
NOT_CONVERTED = (
    "Readings of the glycol whose strength by mass cannot be worked out (in Brix, sample or fluid not known)"
)
NO_REFRIGERANT = "No amount of refrigerant added or recovered is recorded; whether any was moved is not known."


def gaps(
    tag: str,
    *,
    visits: Sequence[Visit],
    found: Iterable[Outage],
    beer: Sequence[BeforeAfter],
    glycol: GlycolYear,
    condenser: Sequence[CondenserPoint],
) -> tuple[Gap, ...]:
    """What the year's record of a unit leaves open."""
    if not visits:
        return (Gap(unit=tag, sentence="No visit is recorded in this period, so nothing was measured."),)
    unsure = [each for each in found if each.estimated_high is None]
    missing = (
        (not beer, "No beer temperature at a tap is recorded."),
        (
            not glycol.points and not glycol.not_converted,
            "No glycol strength is recorded, so the freezing margin is not known.",
        ),
        (bool(glycol.not_converted), f"{NOT_CONVERTED}: {glycol.not_converted}."),
        (bool(glycol.points) and not any(each.margin for each in glycol.points), "The freezing margin is not known."),
        (not any(each.as_found for each in condenser), "The condenser's condition as found is not recorded."),
        (
            not any(each.split for each in condenser),
            "Head pressure and air temperature are not recorded, so the condenser split is not known.",
        ),
        (bool(unsure), f"Outages whose end is not known: {len(unsure)}."),
        (any(each.left_at is None for each in visits), "The end of some visits is not recorded."),
    )
    return tuple(Gap(unit=tag, sentence=sentence) for is_missing, sentence in missing if is_missing)


def gaps_of_all(units: Sequence[UnitSummary], whole: Window, refrigerant: Refrigerant) -> tuple[Gap, ...]:
    """What the record of the customer as a whole leaves open."""
    unvisited = sum(not unit.visits for unit in units)
    known = (
        (not units, "No unit of this customer was in service in this period."),
        (whole.last < date(whole.first.year, 12, 31), f"The figures end on {whole.last.isoformat()}."),
        (bool(unvisited), f"Units without a visit in this period: {unvisited} of {len(units)}."),
        (refrigerant == Refrigerant(), NO_REFRIGERANT),
    )
    return tuple(Gap(unit=None, sentence=sentence) for is_so, sentence in known if is_so)


def hours_figure(without: OutageTotal) -> HeadlineFigure:
    """The hours without cold beer, estimated."""
    return HeadlineFigure(
        code="hours_without_cold_beer",
        label="Hours without cold beer",
        value=without.estimated.value / HOUR,
        text=hours_text(without),
    )


def hours_text(without: OutageTotal) -> str:
    """The hours as people read them: "4.5 h", "about 12.0 h", or "not known"."""
    seen, about, high = without.seen.value, without.estimated.value, without.estimated_high
    if high is None:
        return f"about {about / HOUR:.1f} h or more" if about else "not known"
    return f"{seen / HOUR:.1f} h" if high.value == seen else f"about {about / HOUR:.1f} h"


def hours_range(without: OutageTotal) -> str:
    """The same with what was seen and the most it can be: "about 12.0 h, 4.5 h of it seen, 24.0 h at the most"."""
    text, high = hours_text(without), without.estimated_high
    if high is not None and high.value == without.seen.value:
        return text
    most = "the end of some not known" if high is None else f"{high.value / HOUR:.1f} h at the most"
    return f"{text}, {without.seen.value / HOUR:.1f} h of it seen, {most}"


def share_text(pm: PmCount) -> str:
    """The share on time as people read it: "181 of 239 (75 %)" or "not judged"; 100 % is all of them."""
    if pm.share_on_time is None:
        return "not judged"
    return f"{pm.on_time} of {pm.judged} ({100 * pm.on_time // pm.judged} %)"


def counted(count: int, what: str) -> str:
    """A number with what is counted.

    >>> counted(1, "visit"), counted(2, "visit"), counted(3, "power switch")
    ('1 visit', '2 visits', '3 power switches')
    """
    return (
        f"{count} {what}" if count == 1 else f"{count} {what}{'es' if what.endswith(('ch', 'sh', 's', 'x')) else 's'}"
    )
