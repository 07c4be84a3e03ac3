"""One unit's failures of one kind of component, as the few numbers that the comparison needs."""

from dataclasses import dataclass
from datetime import date
from math import log
from typing import Protocol

from service.domain.record.unit_log import PartReplaced
from service.domain.root_causes.causes import causes_of
from service.domain.root_causes.exposure import Track, area, at
from service.domain.root_causes.history import FailureHistory

STRENGTHS = (1.0, 2.0, 4.0, 8.0, 16.0)
"""By how much full exposure may multiply the rate."""
REPORTED = 0.6  # weight of a failure that nobody of ours saw: judged, no source
BROKEN = ("burnt", "seized", "leaking", "stuck", "broken", "open_circuit")
EXCESS_SHARE = 0.8  # of failures at five times the usual rate, four in five are the excess
TYPICAL, USUAL = 0.80, 0.35  # how often a cause leaves its condition, and how often it is found without: as simulated
YEAR = 365.25
NO_GAINS = ((0.0, 0.0, 0.0),) * len(STRENGTHS)
Gain = tuple[float, float, float]
"""ln of the likelihood against chance; ln of the chance that the cause made none; sum of the odds that it made each."""


@dataclass(frozen=True, slots=True)
class KindFailures:
    """Weighted failures, component-years, and by view of a cause the exposed years and gains by strength.

    `excess_gain` is what the conditions found add to an excess without a known cause.
    """

    kind: str
    events: tuple[PartReplaced, ...]
    count: float
    failure_days: int
    years: float
    exposed: tuple[float, ...]
    gains: tuple[tuple[Gain, ...], ...]
    scores: tuple[tuple[float, ...], ...]
    excess_gain: float
    left_out: int


def failures_of(history: FailureHistory, kind: str, as_of: date) -> KindFailures:
    """Sum up one kind until a day; what is dated outside the history is left out and counted."""
    own = sorted((r for r in history.replaced if r.kind == kind and r.on <= as_of), key=_order)
    history = history.until(as_of)
    valid = [r for r in own if history.start <= r.on <= history.end]
    events = _once_a_day([r for r in valid if is_failure(r)])
    positions, tracks = positions_of(history, kind), tracks_of(history, kind)
    first, last = history.start.toordinal(), max(history.end.toordinal(), history.start.toordinal())
    typical = [cause.typical for cause in causes_of(kind) for _ in cause.views]
    scores = [tuple(at(track, event.on.toordinal()) for event in events) for track in tracks]
    return KindFailures(
        kind=kind,
        events=tuple(events),
        count=sum(map(weight, events)),
        failure_days=len({event.on for event in events}),
        years=max(1, last - first) / YEAR * positions,
        exposed=tuple(area(track, first, last) / YEAR * positions for track in tracks),
        gains=tuple(_gains(left, events, each) for left, each in zip(typical, scores, strict=True)),
        scores=tuple(scores),
        excess_gain=_excess_gain(next((left for left in typical if left), ()), events),
        left_out=len(own) - len(valid),
    )


def positions_of(history: FailureHistory, kind: str) -> int:
    """How many components of a kind there are; one where none is recorded."""
    return max(1, sum(part.kind == kind for part in history.components))


def tracks_of(history: FailureHistory, kind: str) -> list[Track]:
    """The exposure over time by every view of every cause of a kind."""
    return [view.track(history, kind) for cause in causes_of(kind) for view in cause.views]


class Reasoned(Protocol):
    """What a replacement says of the item that was removed."""

    @property
    def reason(self) -> str:
        """Why it was made."""

    @property
    def condition(self) -> str:
        """How the item was found."""


def is_failure(event: Reasoned) -> bool:
    """Whether it failed, by its reason, or, where that is unknown, by how it was found."""
    return event.reason == "failed" or (event.reason == "unknown" and event.condition in BROKEN)


def weight(event: PartReplaced) -> float:
    """1 for what was seen, less for what was only reported."""
    return REPORTED if event.evidence == "reported" or event.by == "others" else 1.0


def _order(event: PartReplaced) -> tuple[date, str, str]:
    return event.on, event.component, event.evidence


def _once_a_day(events: list[PartReplaced]) -> list[PartReplaced]:
    """One failure per component and day; one recorded twice counts as seen."""
    kept: dict[tuple[date, str], PartReplaced] = {}
    for event in events:
        known = kept.get((event.on, event.component))
        if known is None or weight(event) > weight(known):
            kept[event.on, event.component] = event
    return list(kept.values())


def _gains(typical: tuple[str, ...], events: list[PartReplaced], scores: tuple[float, ...]) -> tuple[Gain, ...]:
    if not any(scores):
        return NO_GAINS  # most causes were at none of the failures
    weighted = [(weight(e), score * _sign(typical, e.condition)) for e, score in zip(events, scores, strict=True)]
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


def _excess_gain(typical: tuple[str, ...], events: list[PartReplaced]) -> float:
    """An unknown cause is taken to leave the marks that the listed ones leave on such a part."""
    return sum(weight(e) * log(EXCESS_SHARE * _sign(typical, e.condition) + 1.0 - EXCESS_SHARE) for e in events)


def _sign(typical: tuple[str, ...], condition: str) -> float:
    """How much more often a part is found so when the cause made the failure."""
    if not typical or condition == "unknown":
        return 1.0
    return TYPICAL / USUAL if condition in typical else (1.0 - TYPICAL) / (1.0 - USUAL)
