"""What the service summary says in sentences: the hours, shares, and what is not known."""

from collections.abc import Iterable, Sequence
from datetime import date

from service.domain.messages import gettext, ngettext
from service.domain.record.visits import Visit
from service.domain.summary.document import Gap, UnitSummary
from service.domain.summary.lines import (
    KindCount,
    Outage,
    OutageTotal,
    PmCount,
    Refrigerant,
)
from service.domain.summary.measured import BeforeAfter, CondenserPoint, GlycolYear
from service.domain.summary.window import Window

NO_REFRIGERANT = gettext("No amount of refrigerant added or recovered is recorded; whether any was moved is not known.")


def gaps(  # noqa: PLR0913 - what it follows from
    tag: str,
    *,
    visits: Sequence[Visit],
    found: Sequence[Outage],
    theirs: int = 0,
    beer: Sequence[BeforeAfter],
    glycol: GlycolYear,
    condenser: Sequence[CondenserPoint],
) -> tuple[Gap, ...]:
    """What the year's record of a unit leaves open; `theirs` are parts that failed and others replaced."""
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
        *_open_outages(found),
        (bool(theirs), _theirs(theirs)),
        (any(each.left_at is None for each in visits), gettext("The end of some visits is not recorded.")),
    )
    return tuple(Gap(unit=tag, sentence=sentence) for is_missing, sentence in missing if is_missing)


def _open_outages(found: Sequence[Outage]) -> tuple[tuple[bool, str], ...]:
    """Whether the begin or the end of outages is not known, each with its sentence."""
    unsure = [each for each in found if each.estimated_high is None]
    return (
        *((True, _chanced_on(each)) for each in found if each.begin_unknown),
        (bool(unsure), gettext("Outages whose end is not known: {count}.", count=len(unsure))),
    )


def _chanced_on(found: Outage) -> str:
    """Since when there was no cold beer, where a visit found what nobody had reported."""
    if found.earliest_on is None:
        return gettext(
            "On {day} a visit found no cold beer, which nobody had reported: since when is not known.", day=found.on
        )
    return gettext(
        "On {day} a visit found no cold beer, which nobody had reported: since when is not known, on "
        "{before} at the earliest.", day=found.on, before=found.earliest_on,
    )  # fmt: skip


def _theirs(count: int) -> str:
    return ngettext(
        "Others replaced {count} part that had failed; whether the beer was warm is not recorded, so it is not "
        "counted as a breakdown.",
        "Others replaced {count} parts that had failed; whether the beer was warm is not recorded, so they are not "
        "counted as breakdowns.",
        count,
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
