"""Whether a remedy worked: failures of one kind before and after it, with a verdict once there are enough."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from service.domain.physics.ranges import below
from service.domain.record.failed import is_failure, may_have_failed
from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes.failures import ONE_DAY, YEAR, once
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.life_cycle import IT_WORKED, STILL_FAILING, TOO_EARLY
from service.domain.statistics.rates import first_period_chance

SURE = 0.1


@dataclass(frozen=True, slots=True)
class AfterRemedy:
    """Failures and component-years before and after a remedy, and the chance of so few after it had it done nothing.

    For that chance what was replaced after it for a reason that nobody knows counts as failed.
    """

    before: int
    after: int
    years_before: float
    years_after: float
    chance: float | None
    verdict: str


def after_remedy(history: FailureHistory, kind: str, resolved_on: date) -> AfterRemedy:
    """Compare the failures of a kind until the day of the remedy with those after it.

    Exact one-sided binomial, given all failures (Przyborowski and Wilenski 1940). The failures before it are why the
    root cause was found, which flatters any remedy: hence a chance under 0.1, and no more than that is concluded.
    One of which nobody knows whether it was before or after does not count.
    """
    dated = (r for r in history.replaced if r.kind == kind and r.surely_since(history.start))
    own = [r for r in dated if r.on <= history.end]
    failed = once([r for r in own if is_failure(r)])
    places = max(1, sum(place.kind == kind for place in history.components))
    end = max(history.end, resolved_on)
    return judged(
        before=sum(each.on <= resolved_on for each in failed),
        after=sum(each.surely_since(resolved_on + ONE_DAY) for each in failed),
        years_before=round(max(0, (resolved_on - history.start).days) / YEAR * places, 2),
        years_after=round((end - resolved_on).days / YEAR * places, 2),
        perhaps=perhaps_after(own, resolved_on),
    )


def perhaps_after(own: Iterable[PartReplaced], resolved_on: date) -> int:
    """How many of one kind were replaced after the remedy for a reason that nobody knows, and may have failed."""
    unknown = [each for each in own if may_have_failed(each) and not is_failure(each)]
    return sum(each.surely_since(resolved_on + ONE_DAY) for each in once(unknown))


def judged(*, before: int, after: int, years_before: float, years_after: float, perhaps: int = 0) -> AfterRemedy:
    """The verdict on these counts, `perhaps` being what may have failed after the remedy; times in years.

    What may have failed keeps a remedy from being called one that worked, and is not enough to say that it did not.

    >>> judged(before=4, after=0, years_before=1.5, years_after=1.0).verdict
    'too early to say'
    """
    chance, verdict = None, TOO_EARLY
    if before + after and years_before + years_after:
        chance = first_period_chance(
            before, before + after + perhaps, share=years_before / (years_before + years_after)
        )
    if after and not below(after * years_before, before * years_after):
        verdict = STILL_FAILING
    elif chance is not None and chance < SURE:
        verdict = IT_WORKED
    return AfterRemedy(before, after, years_before, years_after, chance, verdict)
