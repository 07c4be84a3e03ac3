"""To what the failures of one kind of component in one unit are due: chance, a cause, or an unexplained excess."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np

from service.domain.root_causes.causes import BY_CODE, UNEXPLAINED, Cause, causes_of
from service.domain.root_causes.comparison import (
    EXCESS_MEAN,
    EXCESS_SHAPE,
    EXTRA,
    Numbers,
    Setting,
    arrays_of,
    cause_of_view,
    compare,
    frailty_of,
    measured_by_cause,
    starts_of,
    still_at_work,
    support_of,
)
from service.domain.root_causes.failures import (
    YEAR,
    KindFailures,
    failures_where_two,
    positions_of,
    silent_rate,
    views_of,
    watched_years,
)
from service.domain.root_causes.found import CauseShare, Quiet
from service.domain.root_causes.history import FailureHistory, last_day
from service.domain.root_causes.presence import last_without
from service.domain.root_causes.switch_loads import without_plate
from service.domain.root_causes.views import OVERLOAD, Tracks
from service.domain.statistics.scan import varied_scan_probability

MEASURED = 0.5  # a level from here on counts as measured: half way to full harm
ONCE = np.ones(1)
BAD_PARTS = "bad_parts"
NOTHING: Mapping[str, float] = {}
Settings = Callable[[str], Setting]
"""The setting of a component kind."""


@dataclass(frozen=True)
class Attribution:
    """The failures with the probabilities of chance, of the unexplained excess, and of each view by strength."""

    history: FailureHistory
    failures: KindFailures
    setting: Setting
    chance: float
    unexplained: float
    views: tuple[tuple[float, ...], ...]

    @cached_property
    def shares(self) -> tuple[CauseShare, ...]:
        """The explanations other than chance, the most probable first.

        A cause without which the failures went on does not make them any more: what does, the record does not show.
        """
        if self.went_on is None:
            return self._weighed
        gone, _ = self.went_on
        rest = [each for each in self._weighed if each.cause not in (gone, UNEXPLAINED.code)]
        known = sum(each.probability for each in rest)
        return _ordered([*rest, CauseShare(UNEXPLAINED.code, 1.0 - self.chance - known)])

    @cached_property
    def went_on(self) -> tuple[str, int] | None:
        """The most probable cause and how many failures came after it had gone, where they are enough to say so.

        Not of one that is but the order of the replacements: there is nothing to put right.
        """
        first = self._weighed[0].cause
        view = self._view_of(first)
        if view is None or views_of(self.failures.kind)[view][0].measured == "nothing":
            return None
        last = last_without(self.failures.scores[view])
        return (first, last) if last else None

    @cached_property
    def _weighed(self) -> tuple[CauseShare, ...]:
        kind = self.failures.kind
        by_cause = np.add.reduceat(np.array(self.views).sum(axis=1), starts_of(kind))
        levels = measured_by_cause(kind, np.array([self.failures.measured_level]))[0]
        named = [
            CauseShare(cause.code, float(share), measured=bool(level >= MEASURED))
            for cause, share, level in zip(causes_of(kind), by_cause, levels, strict=True)
        ]
        return _ordered([*named, CauseShare(UNEXPLAINED.code, self.unexplained)])

    def or_bad_parts(self, probability: float) -> "Attribution":
        """The same where, with this probability, bad parts made a failure that would be chance otherwise.

        What another cause explains, it explains as before.
        """
        if not probability:
            return self
        made = self.chance * probability / (1.0 - probability)
        rest, causes = 1.0 / (1.0 + made), causes_of(self.failures.kind)
        place = starts_of(self.failures.kind)[[cause.code for cause in causes].index(BAD_PARTS)]
        views = [tuple(each * rest for each in view) for view in self.views]
        views[place] = (*views[place][:-1], views[place][-1] + made * rest)
        return replace(self, chance=self.chance * rest, unexplained=self.unexplained * rest, views=tuple(views))

    @property
    def best(self) -> Cause:
        """The most probable cause."""
        return BY_CODE[self.shares[0].cause]

    @cached_property
    def view(self) -> int | None:
        """The view of the best cause that fits best; None where the excess is unexplained."""
        return self._view_of(self.best.code)

    def _view_of(self, cause: str) -> int | None:
        causes = causes_of(self.failures.kind)
        own = [index for index, owner in enumerate(cause_of_view(self.failures.kind)) if causes[owner].code == cause]
        return max(own, key=lambda index: round(sum(self.views[index]), 9), default=None)

    @property
    def exposed_share(self) -> float | None:
        """The share of the time watched in which the best cause was present.

        None where the excess is unexplained, or where it is assumed at any of the positions.
        """
        if self.view is None or any(map(self.assumed, positions_of(self.history, self.failures.kind))):
            return None
        return self.failures.exposed[self.view] / self.failures.years

    def assumed(self, component: str | None) -> bool:
        """Whether the best cause is an overload of a component whose rating nobody recorded: nobody ever saw it."""
        overload = self.view is not None and views_of(self.failures.kind)[self.view][0] is OVERLOAD
        return overload and component is not None and without_plate(self.history, component)


def _ordered(shares: Sequence[CauseShare]) -> tuple[CauseShare, ...]:
    return tuple(sorted(shares, key=lambda share: -round(share.probability, 9)))  # equal but for rounding: in order


def attribution_of(
    history: FailureHistory,
    failures: KindFailures,
    setting: Setting,
    support: Numbers | None = None,
    frailty: Numbers = ONCE,
) -> Attribution:
    """Compare the explanations of the failures.

    Of the unit's other kinds, `support` (causes,) is what they add to ln of each cause's odds, `frailty` (1,) how many
    times as often as usual they fail by chance.
    """
    arrays = arrays_of(failures.kind, [failures]).times(frailty)
    found = compare(arrays, setting, None if support is None else support[None, :])
    views = tuple(tuple(float(each) for each in view) for view in found.views[0])
    return Attribution(history, failures, setting, float(found.chance[0]), float(found.unexplained[0]), views)


def attributions_of(
    history: FailureHistory, settings: Settings, as_of: date, suspected: Mapping[str, float] = NOTHING
) -> tuple[Attribution, ...]:
    """The attributions of the kinds of a unit that failed on two days, each with what the other kinds say.

    `suspected` is by kind how probable the fleet makes it that a bad part, or the way it was put in, made a failure.
    """
    tracks = Tracks(history.until(as_of))
    counted = failures_where_two(history, as_of, tracks)
    return tuple(
        each.or_bad_parts(suspected.get(each.failures.kind, 0.0))
        for each in weighed_together(tracks, counted, settings)
        if each.failures.failure_days > 1
    )


def weighed_together(tracks: Tracks, counted: Sequence[KindFailures], settings: Settings) -> tuple[Attribution, ...]:
    """The attributions of the kinds of one unit, each with what the others say."""
    owner = np.zeros(1, dtype=int)
    arrays = {own.kind: (arrays_of(own.kind, [own]), owner) for own in counted}
    silent = np.array([silent_rate(tracks.history, {own.kind for own in counted}) * watched_years(tracks.history)])
    frailty = frailty_of(arrays, settings, silent)
    support = support_of(arrays, settings, units=1)
    return tuple(
        attribution_of(tracks.history, own, settings(own.kind), support[own.kind][0], frailty[own.kind])
        for own in counted
    )


def expected_next_year(found: Attribution) -> float:
    """Failures of all positions of the kind in the year after the cause is gone, or, unexplained, as things are."""
    failures, rate = found.failures, found.setting.rate
    positions = len(positions_of(found.history, failures.kind))
    if found.view is None:
        mean = EXCESS_MEAN * rate
        return positions * mean * (EXCESS_SHAPE + failures.count) / (EXCESS_SHAPE + mean * failures.years)
    forms = np.array(found.views[found.view])
    extra = float((forms * EXTRA).sum() / forms.sum()) * failures.exposed[found.view]
    return (
        positions
        * rate
        * (found.setting.shape + failures.count)
        / (found.setting.shape + rate * (failures.years + extra))
    )


def chance_of_so_many(found: Attribution) -> float:
    """The probability of so many failures so close together at some time, by chance, from the dates alone."""
    failures, positions = found.failures, len(positions_of(found.history, found.failures.kind))
    first = min(event.first or event.on for event in failures.events)
    window = ((failures.events[-1].on - first).days + 1) / YEAR
    return varied_scan_probability(
        len(failures.events),
        rate=found.setting.rate * positions,
        window=window,
        watched=max(failures.years / positions, window),
        shape=found.setting.shape,
    )


def quiet_of(found: Attribution) -> Quiet:
    """How long nothing has failed, and how probable it is that the cause is still at work."""
    days = [event.on.toordinal() for event in found.failures.events]
    quiet = last_day(found.history) - days[-1]
    return Quiet(quiet, float(still_at_work(found.failures.failure_days, span=days[-1] - days[0], quiet=quiet)))
