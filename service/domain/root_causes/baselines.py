"""How often parts fail without a cause, how much units differ, and how strongly causes act: defaults and the fleet."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from service.domain.root_causes.causes import UNEXPLAINED, causes_of
from service.domain.root_causes.comparison import Setting, cause_of_view
from service.domain.root_causes.failures import OTHER_RATE, RATES
from service.domain.root_causes.fleet_search import FleetCause
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.sequences import Sequence

STRENGTH_PRIOR = (0.15, 0.2, 0.3, 0.25, 0.1)
ALONE = 1.5  # spread of units: wide while the base rate is only a default


@dataclass(frozen=True, slots=True)
class Baselines:
    """What is known of the fleet by component kind, what fails soon after what, what failures have in common.

    `measured` are units, by identity, of which readings may show a fault, those with most failures first.
    """

    settings: Mapping[str, Setting] = field(default_factory=dict)
    sequences: tuple[Sequence, ...] = ()
    fleet: tuple[FleetCause, ...] = ()
    measured: tuple[int, ...] = ()

    def of(self, kind: str) -> Setting:
        """The setting of a kind; the default where nothing was learned from the fleet."""
        return self.settings.get(kind) or default_setting(kind)


def defaults() -> Baselines:
    """What holds without a fleet."""
    return Baselines()


@cache
def default_setting(kind: str) -> Setting:
    """The default for one kind; the views of a cause share its weight evenly."""
    causes, views = causes_of(kind), cause_of_view(kind)
    strengths = tuple(tuple(each / len(causes[index].views) for each in STRENGTH_PRIOR) for index in views)
    shares = [harm.share if (harm := cause.harm(kind)) else 0.0 for cause in causes]
    return Setting(
        rate=RATES.get(kind, OTHER_RATE),
        shape=ALONE,
        strengths=strengths,
        priors=tuple(cause.prior * share for cause, share in zip(causes, shares, strict=True)),
        measured=tuple(cause.measured * share for cause, share in zip(causes, shares, strict=True)),
        unexplained=UNEXPLAINED.prior,
    )


def kinds_of(history: FailureHistory) -> tuple[str, ...]:
    """The kinds of components in a history, those only replaced included."""
    return tuple(sorted({place.kind for place in history.components} | {r.kind for r in history.replaced}))
