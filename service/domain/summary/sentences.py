"""What the service summary says in sentences: the hours, shares, and what is not known."""

from collections.abc import Iterable, Sequence
from datetime import date

from service.domain.messages import gettext, ngettext
from service.domain.record.visits import Visit
from service.domain.summary.document import Gap, HeadlineFigure, UnitSummary
from service.domain.summary.lines import (
    KindCount,
    Outage,
    OutageTotal,
    PmCount,
    Refrigerant,
)
from service.domain.summary.measured import BeforeAfter, CondenserPoint, GlycolYear
from service.domain.summary.window import Window
from service.domain.summary.witnesses import READING

HOUR = 3600.0
NO_REFRIGERANT = gettext("No amount of refrigerant added or recovered is recorded; whether any was moved is not known.")


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
        return (Gap(unit=tag, sentence=gettext("No visit is recorded in this period, so nothing was measured.")),)
    missing = (
        (not beer, gettext("No beer temperature at a tap is recorded.")),
        (
            not glycol.points and not glycol.not_converted,
            gettext("No glycol strength is recorded, so the freezing margin is not known."),
        ),
        (bool(glycol.not_converted), _not_converted(glycol.not_converted)),
        (
            bool(glycol.points) and not any(each.margin for each in glycol.points),
            gettext("The freezing margin is not known."),
        ),
        (
            not any(each.as_found for each in condenser),
            gettext("The condenser's condition as found is not recorded."),
        ),
        (
            not any(each.split for each in condenser),
            gettext("Head pressure and air temperature are not recorded, so the condenser split is not known."),
        ),
        *_open_outages(tuple(found)),
        (any(each.left_at is None for each in visits), gettext("The end of some visits is not recorded.")),
    )
    return tuple(Gap(unit=tag, sentence=sentence) for is_missing, sentence in missing if is_missing)


def _open_outages(found: Sequence[Outage]) -> tuple[tuple[bool, str], ...]:
    """Whether the begin or the end of outages is not known, each with its sentence."""
    unsure = [each for each in found if each.estimated_high is None]
    chanced_on = [each for each in found if each.started_by == READING and not each.began_before]
    warm = gettext(
        "Beer that a visit found warm and nobody had reported, since when is not known: {count}.",
        count=len(chanced_on),
    )
    return (
        (bool(chanced_on), warm),
        (bool(unsure), gettext("Outages whose end is not known: {count}.", count=len(unsure))),
    )


def _not_converted(count: int) -> str:
    return gettext(
        "Readings of the glycol whose strength by mass cannot be worked out (in Brix, sample or fluid not known): "
        "{count}.", count=count,
    )  # fmt: skip


def gaps_of_all(units: Sequence[UnitSummary], whole: Window, refrigerant: Refrigerant) -> tuple[Gap, ...]:
    """What the record of the customer as a whole leaves open."""
    all_of_them, visited = {unit.tag for unit in units}, {unit.tag for unit in units if unit.visits}
    out = {unit.tag for unit in units if unit.out_of_service}
    known = (
        (not units, gettext("No unit of this customer was in service in this period.")),
        (whole.last < date(whole.first.year, 12, 31), gettext("The figures end on {day}.", day=whole.last.isoformat())),
        (
            visited != all_of_them,
            gettext(
                "Units without a visit in this period: {count} of {all}.",
                count=len(all_of_them - visited),
                all=len(all_of_them),
            ),
        ),
        (
            bool(out),
            gettext(
                "Units out of service for a part of this period: {count} of {all}.",
                count=len(out),
                all=len(all_of_them),
            ),
        ),
        (refrigerant == Refrigerant(), NO_REFRIGERANT),
    )
    return tuple(Gap(unit=None, sentence=sentence) for is_so, sentence in known if is_so)


def nobody_saw(without: OutageTotal, visits: Iterable[KindCount]) -> bool:
    """Neither a visit nor a call is recorded, so whether the beer was cold is not known."""
    seen = without.outages or without.carried_over or any(each.ours or each.others for each in visits)
    return not seen


def hours_figure(without: OutageTotal, visits: Iterable[KindCount]) -> HeadlineFigure:
    """The hours without cold beer, estimated."""
    return HeadlineFigure(
        code="hours_without_cold_beer",
        label=gettext("Hours without cold beer"),
        value=without.estimated.value / HOUR,
        text=hours_text(without, visits),
    )


def hours_text(without: OutageTotal, visits: Iterable[KindCount]) -> str:
    """The hours as people read them: "4.5 h", "about 12.0 h", or "not known", as where nobody came or called."""
    seen, about, high = without.seen.value, without.estimated.value, without.estimated_high
    if nobody_saw(without, visits) or (without.any and not about):
        return gettext("not known")
    if high is None:
        return gettext("about {hours} h or more", hours=f"{about / HOUR:.1f}") if about else gettext("not known")
    if high.value == seen:
        return gettext("{hours} h", hours=f"{seen / HOUR:.1f}")
    return gettext("about {hours} h", hours=f"{about / HOUR:.1f}")


def hours_range(without: OutageTotal, visits: Iterable[KindCount]) -> str:
    """The same with what was seen and the most it can be: "about 12.0 h, 4.5 h of it seen, 24.0 h at the most"."""
    text, high = hours_text(without, visits), without.estimated_high
    if high is not None and high.value == without.seen.value:
        return text
    seen = f"{without.seen.value / HOUR:.1f}"
    if high is None:
        return gettext("{hours}, {seen} h of it seen, the end of some not known", hours=text, seen=seen)
    most = f"{high.value / HOUR:.1f}"
    return gettext("{hours}, {seen} h of it seen, {most} h at the most", hours=text, seen=seen, most=most)


def share_text(pm: PmCount) -> str:
    """The share on time as people read it: "181 of 239 (75 %)" or "not judged"; 100 % is all of them."""
    if pm.share_on_time is None:
        return gettext("not judged")
    share = 100 * pm.on_time // pm.judged
    return gettext("{done} of {all} ({share} %)", done=pm.on_time, all=pm.judged, share=share)


def counted(count: int, what: str) -> str:
    """A number with what is counted.

    >>> counted(1, "visit"), counted(2, "visit"), counted(3, "power switch")
    ('1 visit', '2 visits', '3 power switches')
    """
    return ngettext(*plural_of(what), count)


def plural_of(what: str) -> tuple[str, str]:
    """The messages of one and of more; the catalogue lists those of kinds of components."""
    return f"{{count}} {what}", f"{{count}} {what}{'es' if what.endswith(('ch', 'sh', 's', 'x')) else 's'}"
