"""One unit's failures of one kind of component, as the few numbers that the comparison needs."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from math import log

from service.domain.record.failed import is_failure, may_have_failed
from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes.causes import HOT, causes_of
from service.domain.root_causes.exposure import area, at
from service.domain.root_causes.history import FailureHistory, last_day
from service.domain.root_causes.views import Tracks, View

STRENGTHS = (1.0, 2.0, 4.0, 8.0, 16.0)
"""By how much full exposure may multiply the rate."""
REPORTED = 0.6  # weight of a failure that nobody of ours saw: judged, no source
UNKNOWN_WHY = 0.6  # of what was replaced for a reason that nobody knows, and not found good: judged, no source
FOUND_GOOD = 0.4  # of a part called failed and found good, swapped in vain or beside the bad one: judged, no source
NEW, AGAIN = 14, 0.5  # days of a new part, and the weight of its failure: a fault of its own or of its fitting; judged
MARKED, USUAL = 0.60, 0.40  # how often a cause leaves one of its marks, and how often they are found without it: judged
BURNT, USUALLY_BURNT = 0.68, 0.36  # the same of marks that heat alone leaves; judged, held by simulation
SAYS_NOTHING = ("unknown", "good", "worn", "noisy")  # of a cause that does not leave just that
YEAR = 365.25
ONE_DAY = timedelta(days=1)
RATES = {
    "power_switch": 0.20, "contactor": 0.10, "pump": 0.15, "pump_motor": 0.10, "temperature_controller": 0.10,
    "compressor": 0.04, "condenser_fan": 0.12,
}  # fmt: skip
OTHER_RATE = 0.08  # a year; all rates are judged, no source
NO_GAINS = ((0.0, 0.0, 0.0),) * len(STRENGTHS)
Gain = tuple[float, float, float]
"""ln of the likelihood against chance; ln of the chance that the cause made none; sum of the odds that it made each."""


@dataclass(frozen=True, slots=True)
class KindFailures:
    """Weighted failures, component-years, and by view of a cause the exposed years, gains by strength, measured level.

    `exposed` is the score summed over the years of all positions, `scores` are those of each failure by view, `reach`
    is the share of the positions that were ever exposed: all of them where the exposure is not that of a position.
    """

    kind: str
    events: tuple[PartReplaced, ...]
    count: float
    failure_days: int
    years: float
    exposed: tuple[float, ...]
    gains: tuple[tuple[Gain, ...], ...]
    scores: tuple[tuple[float, ...], ...]
    measured_level: tuple[float, ...]
    reach: tuple[float, ...]
    left_out: int


def failures_of(history: FailureHistory, kind: str, as_of: date, tracks: Tracks | None = None) -> KindFailures:
    """Sum up one kind until a day; what is dated outside the history is left out and counted.

    `tracks` are those of the history up to that day, where they were made before.
    """
    own = sorted((r for r in history.replaced if r.kind == kind and r.on <= as_of), key=_order)
    tracks = tracks or Tracks(history.until(as_of))
    history = tracks.history
    valid = [r for r in own if r.surely_since(history.start) and r.on <= history.end]
    events = once([r for r in valid if may_have_failed(r)])
    codes = positions_of(history, kind)
    views, weights = views_of(kind), [weight(event, valid) for event in events]
    seen = [[tracks.seen(view, kind, code) for code in scope(view, kind, codes)] for view, _ in views]
    scores = [tuple(_score(tracks, view, event) for event in events) for view, _ in views]
    return KindFailures(
        kind=kind,
        events=tuple(events),
        count=sum(weights),
        failure_days=_days_apart(events),
        years=watched_years(history) * len(codes),
        exposed=tuple(sum(each.area for each in of_view) / YEAR * (len(codes) / len(of_view)) for of_view in seen),
        gains=tuple(_gains(marks, events, weights, each) for (_, marks), each in zip(views, scores, strict=True)),
        scores=tuple(scores),
        measured_level=tuple(max(each.measured_level for each in of_view) for of_view in seen),
        reach=tuple(max(1, sum(each.reached for each in of_view)) / len(of_view) for of_view in seen),
        left_out=len(own) - len(valid),
    )


@cache
def views_of(kind: str) -> tuple[tuple[View, tuple[str, ...]], ...]:
    """The views of all causes of a kind, each with the conditions that its cause leaves."""
    return tuple((view, cause.marks(kind)) for cause in causes_of(kind) for view in cause.views)


def failures_where_two(history: FailureHistory, as_of: date, tracks: Tracks) -> list[KindFailures]:
    """Those of all kinds that failed by a day, if one did on two days: what failed once may support its cause."""
    failed = {event.kind for event in history.replaced if may_have_failed(event)}
    counted = [own for kind in sorted(failed) if (own := failures_of(history, kind, as_of, tracks)).failure_days]
    return counted if any(own.failure_days > 1 for own in counted) else []


def watched_years(history: FailureHistory) -> float:
    """How long a unit was watched."""
    return max(1, last_day(history) - history.start.toordinal()) / YEAR


def silent_rate(history: FailureHistory, failed: set[str]) -> float:
    """Failures a year to be expected by default of the components whose kinds never failed."""
    return sum(RATES.get(part.kind, OTHER_RATE) for part in history.components if part.kind not in failed)


def positions_of(history: FailureHistory, kind: str) -> tuple[str | None, ...]:
    """The components of a kind; one without a code where none is recorded."""
    return tuple(part.code for part in history.components if part.kind == kind) or (None,)


def scope(view: View, kind: str, codes: tuple[str | None, ...]) -> tuple[str | None, ...]:
    """The positions whose exposures differ: each one's own, or one for all."""
    return codes if view.by_position(kind) else (None,)


def _score(tracks: Tracks, view: View, event: PartReplaced) -> float:
    """The score of the day; of one that is not known exactly the mean over the days possible.

    The likelihood of a failure at some time in an interval is that of its days averaged (interval censoring), and that
    is linear in the score.
    """
    track, last = tracks.of(view, event.kind, view.place(event.kind, event.component)), event.on.toordinal()
    first = last if event.first is None else event.first.toordinal()
    return area(track, first, last) / (last - first) if first < last else at(track, last)


def weight(event: PartReplaced, kind: Iterable[PartReplaced] = ()) -> float:
    """1 for what was seen to fail, less where that is reported or not sure, or the part was good or new.

    `kind` are the parts of its kind put in.
    """
    surely = FOUND_GOOD if event.condition == "good" else 1.0
    if event.evidence == "reported" or event.by == "others":
        surely *= REPORTED
    if not is_failure(event):
        surely *= UNKNOWN_WHY
    return AGAIN * surely if _was_new(event, kind) else surely


def _was_new(event: PartReplaced, kind: Iterable[PartReplaced]) -> bool:
    """Whether the part had been put in days before: new parts fail more often, whatever else is wrong."""
    return event.exact and any(
        part.component == event.component and part.exact and 0 < (event.on - part.on).days <= NEW for part in kind
    )


def _order(event: PartReplaced) -> tuple[date, str, str]:
    return event.on, event.component, event.evidence


def once(events: list[PartReplaced]) -> list[PartReplaced]:
    """One failure per component and day; one recorded twice counts as seen.

    One whose day is not known exactly may be another one that is recorded, where its days hold that one's: then it does
    not count.
    """
    kept: dict[tuple[date, str], PartReplaced] = {}
    for event in events:
        known = kept.get((event.on, event.component))
        if event.exact and (known is None or weight(event) > weight(known)):
            kept[event.on, event.component] = event
    counted = list(kept.values())
    for event in sorted((each for each in events if not each.exact), key=_width):
        if not any(each.component == event.component and _may_be_one_day(each, event) for each in counted):
            counted.append(event)
    return sorted(counted, key=_order)


def _width(event: PartReplaced) -> int:
    return (event.on - (event.first or date.min)).days


def _may_be_one_day(one: PartReplaced, other: PartReplaced) -> bool:
    return (one.first or date.min) <= other.on and (other.first or date.min) <= one.on


def _days_apart(events: list[PartReplaced]) -> int:
    """On how many days there were failures, at least: one whose day is not known exactly may be of another's day."""
    count, last = 0, date.min
    for event in events:
        if event.surely_since(last + ONE_DAY):
            count, last = count + 1, event.on
    return count


def _gains(
    marks: tuple[str, ...], events: list[PartReplaced], weights: list[float], scores: tuple[float, ...]
) -> tuple[Gain, ...]:
    if not any(scores):
        return NO_GAINS  # most causes were at none of the failures
    weighted = [
        (counted, score * _sign(marks, e.condition)) for e, counted, score in zip(events, weights, scores, strict=True)
    ]
    return tuple(_gain(weighted, strength) for strength in STRENGTHS)


def _gain(weighted: list[tuple[float, float]], strength: float) -> Gain:
    """Each failure multiplies the rate by its factor, and by what its condition says for the share the cause makes."""
    log_gain = log_rest = odds = 0.0
    for counted, score in weighted:
        made = (strength - 1.0) * score
        log_gain += counted * log(1.0 + made)
        log_rest -= log(1.0 + made)
        odds += made
    return log_gain, log_rest, odds


def _sign(marks: tuple[str, ...], condition: str) -> float:
    """How much more often a part is found so when the cause made the failure; what was not recorded says nothing."""
    if not marks or (condition in SAYS_NOTHING and condition not in marks):
        return 1.0
    by_cause, usual = (BURNT, USUALLY_BURNT) if set(marks) <= set(HOT) else (MARKED, USUAL)
    return by_cause / usual if condition in marks else (1.0 - by_cause) / (1.0 - usual)
