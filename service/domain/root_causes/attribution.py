"""To what the failures of one kind of component in one unit are due: chance, a cause, or an unexplained excess."""

from dataclasses import dataclass

import numpy as np

from service.domain.root_causes.causes import UNEXPLAINED, Cause, causes_of
from service.domain.root_causes.comparison import (
    EXCESS_MEAN,
    EXCESS_SHAPE,
    EXTRA,
    Setting,
    arrays_of,
    cause_of_view,
    weighed,
)
from service.domain.root_causes.failures import KindFailures, positions_of
from service.domain.root_causes.found import CauseShare
from service.domain.root_causes.history import FailureHistory


@dataclass(frozen=True, slots=True)
class Attribution:
    """The failures with the probabilities of chance, of the unexplained excess, and of each view by strength."""

    history: FailureHistory
    failures: KindFailures
    setting: Setting
    chance: float
    unexplained: float
    views: tuple[tuple[float, ...], ...]

    @property
    def shares(self) -> tuple[CauseShare, ...]:
        """The explanations other than chance, the most probable first."""
        causes = causes_of(self.failures.kind)
        by_cause = [0.0] * len(causes)
        for owner, view in zip(cause_of_view(self.failures.kind), self.views, strict=True):
            by_cause[owner] += sum(view)
        named = [CauseShare(cause.code, share) for cause, share in zip(causes, by_cause, strict=True)]
        named.append(CauseShare(UNEXPLAINED.code, self.unexplained))
        return tuple(sorted(named, key=lambda share: -round(share.probability, 9)))  # equal but for rounding: in order

    @property
    def best(self) -> Cause:
        """The most probable cause."""
        code = self.shares[0].cause
        return next((cause for cause in causes_of(self.failures.kind) if cause.code == code), UNEXPLAINED)

    @property
    def view(self) -> int | None:
        """The view of the best cause that fits best; None where the excess is unexplained."""
        best, causes = self.best, causes_of(self.failures.kind)
        own = [index for index, owner in enumerate(cause_of_view(self.failures.kind)) if causes[owner] is best]
        return max(own, key=lambda index: round(sum(self.views[index]), 9), default=None)

    @property
    def exposed_share(self) -> float | None:
        """The share of the time watched in which the best cause was present; None where the excess is unexplained."""
        return None if self.view is None else self.failures.exposed[self.view] / self.failures.years


def attribution_of(history: FailureHistory, failures: KindFailures, setting: Setting) -> Attribution:
    """Weigh the explanations of the failures; what a cause did not make is chance."""
    arrays = arrays_of(failures.kind, [failures])
    weights = weighed(arrays, setting)
    total = float(weights.chance[0] + weights.views.sum() + weights.unexplained[0])
    chance = float(weights.chance[0] + (weights.views[0] * (1.0 - arrays.made[0])).sum())
    views = tuple(tuple(float(each) for each in view) for view in weights.views[0] * arrays.made[0] / total)
    return Attribution(history, failures, setting, chance / total, float(weights.unexplained[0]) / total, views)


def expected_next_year(found: Attribution) -> float:
    """Failures of all positions of the kind in the year after the cause is gone, or, unexplained, as things are."""
    failures, rate = found.failures, found.setting.rate
    positions = positions_of(found.history, failures.kind)
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
