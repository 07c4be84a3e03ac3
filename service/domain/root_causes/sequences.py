"""What fails soon after what: ordered pairs of component kinds over the fleet, each unit its own control.

A unit where everything fails often has as many failures inside the windows as outside, and makes no pair. In a bad
spell, as while a condenser is fouled, two kinds fail together but in any order: the windows before are another control.
Self-controlled after Farrington 1995; what is made of the windows before is judged on simulated fleets.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import reduce
from itertools import pairwise
from typing import Any

from service.domain.plain import from_plain as read_plain
from service.domain.plain import to_plain
from service.domain.record.failed import is_failure
from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes.history import FailureHistory
from service.domain.statistics.discoveries import adjusted
from service.domain.statistics.rates import chance_of, first_period_chance, varied_chance_of

WINDOW = 30  # days after a replacement; the day itself shows no order and is left out
FALSE_SHARE = 0.10
WORTH = 4.0  # failures seen as expected, added to both, draw the ratio to 1
CROWDING_WORTH = 10.0  # failures before, seen as expected, that speak for no spells
ORDER = 0.15  # at most so likely may it be that as many of those near come after
Pair = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Tally:
    """Failures in the windows after and in those before, and how many were expected in each."""

    after: int = 0
    expected_after: float = 0.0
    before: int = 0
    expected_before: float = 0.0

    def plus(self, more: "Tally") -> "Tally":
        """Both together."""
        return Tally(
            self.after + more.after, self.expected_after + more.expected_after,
            self.before + more.before, self.expected_before + more.expected_before,
        )  # fmt: skip

    @property
    def crowding(self) -> float:
        """How many times as many as expected came before, drawn to 1."""
        return (self.before + CROWDING_WORTH) / (self.expected_before + CROWDING_WORTH)

    @property
    def expected(self) -> float:
        """How many were to be expected after, raised where they crowd before as well."""
        return self.expected_after * max(1.0, self.crowding)

    @property
    def chance(self) -> float:
        """That of so many after by chance: at the units' own rates or, if likelier so, at those of such spells."""
        steady = chance_of(self.after, expected=self.expected_after)
        shape = self.before + CROWDING_WORTH
        return max(steady, varied_chance_of(self.after, expected=self.expected_after * self.crowding, shape=shape))

    @property
    def order(self) -> float:
        """The chance that so many of those near come after, not before; windows are cut at the ends of the history."""
        if self.after == 0:
            return 1.0
        share = self.expected_after / (self.expected_after + self.expected_before)
        return first_period_chance(self.after, self.after + self.before, share=share)


@dataclass(frozen=True, slots=True)
class Counts:
    """The units so far: the kinds that failed, and what was tallied by (after, kind)."""

    kinds: frozenset[str] = frozenset()
    pairs: Mapping[Pair, Tally] = field(default_factory=dict)

    def add(self, history: FailureHistory) -> "Counts":
        """These and one unit more; memory grows with the kinds of components, not with the units."""
        failed = _failures(history)
        own = _tallies(failed, history) if len(failed) > 1 else {}
        more = {pair: self.pairs.get(pair, Tally()).plus(tally) for pair, tally in own.items()}
        return Counts(self.kinds | failed.keys(), {**self.pairs, **more}) if failed else self


@dataclass(frozen=True, slots=True)
class Sequence:
    """Failures of `kind` within the window after a failure of another kind, over the fleet.

    `ratio` is (observed + 4) / (expected + 4), `chance` that of so many by chance. It `stands` where at most a tenth of
    those so unlikely are false, and the order is not likely chance either.
    """

    after: str
    kind: str
    observed: int
    expected: float
    ratio: float
    chance: float
    stands: bool


@dataclass(frozen=True, slots=True)
class Followed:
    """One unit's failure so many days after that of another kind; `sequence` the fleet's, None where none stands."""

    before: PartReplaced
    event: PartReplaced
    days: int
    sequence: Sequence | None


def counted(records: Iterable[FailureHistory]) -> Counts:
    """The counts of a fleet, one unit in memory at a time."""
    return reduce(Counts.add, records, Counts())


def found(counts: Counts) -> tuple[Sequence, ...]:
    """All pairs of kinds that failed in one unit, the least likely first.

    Judged as many as there are ordered pairs of kinds that failed anywhere, those never seen together too.
    """
    kinds, tallies = len(counts.kinds), counts.pairs.values()
    least = adjusted([tally.chance for tally in tallies], of=kinds * (kinds - 1))
    each = (
        _sequence(pair, tally, stands=chance <= FALSE_SHARE and tally.order <= ORDER)
        for (pair, tally), chance in zip(counts.pairs.items(), least, strict=True)
    )
    return tuple(sorted(each, key=lambda one: (one.chance, one.after, one.kind)))


def _sequence(pair: Pair, tally: Tally, *, stands: bool) -> Sequence:
    ratio = (tally.after + WORTH) / (tally.expected + WORTH)
    return Sequence(*pair, tally.after, tally.expected, ratio, tally.chance, stands)


def followed(history: FailureHistory, kind: str, sequences: Iterable[Sequence]) -> tuple[Followed, ...]:
    """The unit's failures of a kind that came within the window after one of another kind, by day.

    For each other kind only the nearest before.
    """
    standing = {each.after: each for each in sequences if each.kind == kind and each.stands}
    failed = _failures(history)
    then, pairs = failed.pop(kind, []), []
    for other, events in sorted(failed.items()):
        days = [event.on.toordinal() for event in events]
        for event in then:
            place = _nearest_before(days, event.on.toordinal())
            if place is not None:
                before = events[place]
                pairs.append(Followed(before, event, (event.on - before.on).days, standing.get(other)))
    return tuple(sorted(pairs, key=lambda each: each.event.on))


def plain(sequences: Iterable[Sequence]) -> dict[str, Any]:
    """As JSON keeps them."""
    return {"sequences": [to_plain(each) for each in sequences]}


def from_plain(kept: Mapping[str, Any]) -> tuple[Sequence, ...]:
    """As `plain` gave them; none where nothing was learned yet."""
    return tuple(read_plain(Sequence, each) for each in kept.get("sequences", ()))


def _failures(history: FailureHistory) -> dict[str, list[PartReplaced]]:
    """By kind and day, one per component and day; those outside the history or of unknown days left out."""
    once = {
        (event.kind, event.on, event.component): event
        for event in history.replaced
        if is_failure(event) and event.exact and history.start <= event.on <= history.end
    }
    by_kind: dict[str, list[PartReplaced]] = defaultdict(list)
    for (kind, _, _), event in sorted(once.items(), key=lambda each: each[0]):
        by_kind[kind].append(event)
    return dict(by_kind)


def _tallies(failed: Mapping[str, list[PartReplaced]], history: FailureHistory) -> dict[Pair, Tally]:
    """One unit's failures in the windows beside others, and how many there would be if they kept to no order."""
    start, end = history.start.toordinal(), history.end.toordinal()
    days = {kind: [event.on.toordinal() for event in events] for kind, events in failed.items()}
    tallies = {}
    for kind, first in days.items():
        after, before = _covered([*first, end]), _covered([start, *first])
        for other, then in days.items():
            if other != kind:
                rate = len(then) / (end - start + 1)
                followed_it = sum(_nearest_before(first, day) is not None for day in then)
                preceded_it = sum(_follows(first, day) for day in then)
                tallies[kind, other] = Tally(followed_it, rate * after, preceded_it, rate * before)
    return tallies


def _covered(days: list[int]) -> int:
    """Days within the window of an earlier one, from the first to the last; where windows overlap, once."""
    return sum(min(WINDOW, later - day) for day, later in pairwise(days))


def _nearest_before(days: list[int], day: int) -> int | None:
    """The place of the last day before this one, None where it is not within the window."""
    place = bisect_left(days, day) - 1
    return place if place >= 0 and day - days[place] <= WINDOW else None


def _follows(days: list[int], day: int) -> bool:
    place = bisect_right(days, day)
    return place < len(days) and days[place] - day <= WINDOW
