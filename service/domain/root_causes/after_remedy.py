"""Whether a remedy worked: failures of one kind before and after it, told only once they can tell."""

from dataclasses import dataclass
from datetime import date

from service.domain.physics.ranges import below
from service.domain.root_causes.candidate import UnitRecord
from service.domain.root_causes.life_cycle import IT_GOES_ON, IT_WORKED, TOO_EARLY
from service.domain.root_causes.statistics import YEAR, is_failure
from service.domain.statistics.rates import first_period_chance

SURE = 0.1


@dataclass(frozen=True, slots=True)
class AfterRemedy:
    """Failures and component-years before and after a remedy, and the chance of so few after it had it done nothing."""

    before: int
    after: int
    years_before: float
    years_after: float
    chance: float | None
    verdict: str


def after_remedy(record: UnitRecord, kind: str, resolved_on: date) -> AfterRemedy:
    """Compare the failures of a kind until the day of the remedy with those after it.

    Exact one-sided binomial, given all failures (Przyborowski and Wilenski 1940). The failures before it are why the
    case was looked into, which flatters any remedy: so it asks for a chance under 0.1 and says no more than that.
    """
    failed = {(r.day, r.component) for r in record.replacements if r.kind == kind and is_failure(r)}
    days = [day for day, _ in failed if record.start <= day <= record.end]
    places = max(1, sum(place.kind == kind for place in record.components))
    end = max(record.end, resolved_on)
    return judged(
        before=sum(day <= resolved_on for day in days),
        after=sum(day > resolved_on for day in days),
        years_before=round(max(0, (resolved_on - record.start).days) / YEAR * places, 2),
        years_after=round((end - resolved_on).days / YEAR * places, 2),
    )


def judged(*, before: int, after: int, years_before: float, years_after: float) -> AfterRemedy:
    """The verdict on these counts; times in years.

    >>> judged(before=4, after=0, years_before=1.5, years_after=1.0).verdict
    'too early to tell'
    """
    chance, verdict = None, TOO_EARLY
    if before + after and years_before + years_after:
        chance = first_period_chance(before, before + after, share=years_before / (years_before + years_after))
    if after and not below(after * years_before, before * years_after):
        verdict = IT_GOES_ON
    elif chance is not None and chance < SURE:
        verdict = IT_WORKED
    return AfterRemedy(before, after, years_before, years_after, chance, verdict)
