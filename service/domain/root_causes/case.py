"""One unit and component kind with what the comparison says of it."""

from dataclasses import dataclass

import numpy as np

from service.domain.root_causes.candidate import CauseShare, UnitRecord
from service.domain.root_causes.causes import UNEXPLAINED, Cause, causes_of
from service.domain.root_causes.comparison import (
    EXTRA,
    ODD_MEAN,
    ODD_SHAPE,
    Setting,
    cause_of_view,
    pairs_of,
    weighed,
)
from service.domain.root_causes.statistics import PairStatistics, places_of


@dataclass(frozen=True, slots=True)
class Case:
    """One pair with what the comparison says: shares by view and strength, of luck and of the unexplained excess."""

    record: UnitRecord
    pair: PairStatistics
    setting: Setting
    luck: float
    unexplained: float
    views: tuple[tuple[float, ...], ...]

    @property
    def shares(self) -> tuple[CauseShare, ...]:
        """The explanations other than luck, the most probable first; equal but for rounding, in the causes' order."""
        causes = causes_of(self.pair.kind)
        by_cause = [0.0] * len(causes)
        for owner, view in zip(cause_of_view(self.pair.kind), self.views, strict=True):
            by_cause[owner] += sum(view)
        named = [CauseShare(cause.code, share) for cause, share in zip(causes, by_cause, strict=True)]
        named.append(CauseShare(UNEXPLAINED.code, self.unexplained))
        return tuple(sorted(named, key=lambda share: -round(share.probability, 9)))

    @property
    def best(self) -> Cause:
        """The most probable cause."""
        code = self.shares[0].cause
        return next((cause for cause in causes_of(self.pair.kind) if cause.code == code), UNEXPLAINED)

    @property
    def view(self) -> int | None:
        """The view of the best cause that fits best; None where the excess is unexplained."""
        best, causes = self.best, causes_of(self.pair.kind)
        own = [index for index, owner in enumerate(cause_of_view(self.pair.kind)) if causes[owner] is best]
        return max(own, key=lambda index: round(sum(self.views[index]), 9), default=None)

    @property
    def exposed_share(self) -> float | None:
        """The share of the time watched in which the best cause was present; None where the excess is unexplained."""
        return None if self.view is None else self.pair.exposed[self.view] / self.pair.years


def case_of(record: UnitRecord, pair: PairStatistics, setting: Setting) -> Case:
    """Weigh the explanations of one pair; what a cause did not make is luck."""
    pairs = pairs_of(pair.kind, [pair])
    told = weighed(pairs, setting)
    total = float(told.luck[0] + told.views.sum() + told.unexplained[0])
    luck = float(told.luck[0] + (told.views[0] * (1.0 - pairs.made[0])).sum())
    views = tuple(tuple(float(each) for each in view) for view in told.views[0] * pairs.made[0] / total)
    return Case(record, pair, setting, luck / total, float(told.unexplained[0]) / total, views)


def expected_next_year(case: Case) -> float:
    """Failures of all places of the kind in the year after the cause is gone, or, unexplained, as things are."""
    pair, rate = case.pair, case.setting.rate
    places = places_of(case.record, pair.kind)
    if case.view is None:
        mean = ODD_MEAN * rate
        return places * mean * (ODD_SHAPE + pair.count) / (ODD_SHAPE + mean * pair.years)
    forms = np.array(case.views[case.view])
    extra = float((forms * EXTRA).sum() / forms.sum()) * pair.exposed[case.view]
    return places * rate * (case.setting.shape + pair.count) / (case.setting.shape + rate * (pair.years + extra))
