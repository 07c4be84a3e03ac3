"""The root causes of one unit: tier, probability of chance, causes, failures, and what to check next."""

from datetime import date

from service.domain.root_causes import explanation
from service.domain.root_causes.attribution import Attribution, attribution_of, expected_next_year
from service.domain.root_causes.baselines import Baselines, kinds_of
from service.domain.root_causes.failures import KindFailures, failures_of
from service.domain.root_causes.found import FailureEvent, RootCauseFound
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.sequences import Followed, followed

WATCH, PROBABLE, STRONG = 0.50, 0.08, 0.025  # chosen by simulation: see tests/simulation


def root_causes_of(history: FailureHistory, baselines: Baselines, as_of: date) -> tuple[RootCauseFound, ...]:
    """The kinds of components in a unit whose failures chance does not explain; one failure is never enough."""
    each = (root_cause_of(history, kind, baselines, as_of) for kind in kinds_of(history))
    return tuple(found for found in each if found)


def root_cause_of(history: FailureHistory, kind: str, baselines: Baselines, as_of: date) -> RootCauseFound | None:
    """The root cause of the failures of one kind, None where chance explains them."""
    if sum(event.kind == kind for event in history.replaced) < 2:
        return None
    failures = failures_of(history, kind, as_of)
    if failures.failure_days < 2:
        return None
    weighed = attribution_of(history, failures, baselines.of(kind))
    return _found(weighed, followed(history, kind, baselines.sequences)) if weighed.chance < WATCH else None


def tier_of(chance: float) -> str:
    """The tier by the probability of chance."""
    return "strong" if chance < STRONG else "probable" if chance < PROBABLE else "watch"


def _found(weighed: Attribution, preceding: tuple[Followed, ...]) -> RootCauseFound:
    best, shares, expected = weighed.best, weighed.shares, expected_next_year(weighed)
    return RootCauseFound(
        unit=weighed.history.tag,
        component_kind=weighed.failures.kind,
        tier=tier_of(weighed.chance),
        probability_of_chance=weighed.chance,
        causes=shares,
        events=_events(weighed, preceding),
        exposed_share=weighed.exposed_share,
        other_explanations=explanation.others(shares, weighed.chance),
        next_check=best.confirm,
        remedy=best.remedy,
        bring=best.bring,
        expected_failures_next_year=expected,
        explanation=explanation.sentences(weighed, expected, preceding),
        evidence_key=_key(weighed.failures),
    )


def _events(weighed: Attribution, preceding: tuple[Followed, ...]) -> tuple[FailureEvent, ...]:
    kind = weighed.failures.kind
    return tuple(
        FailureEvent(
            day=e.on,
            component=e.component,
            condition=e.condition,
            evidence=e.evidence,
            by=e.by,
            reason=e.reason,
            visit=e.visit,
            readings_before=explanation.readings_before(weighed.history, kind, component=e.component, day=e.on),
            preceding_failures=tuple(explanation.days_after(each) for each in preceding if each.event.on == e.on),
        )
        for e in weighed.failures.events
    )


def _key(failures: KindFailures) -> str:
    """The failures that the root cause rests on; another failure makes another key."""
    return ";".join(f"{e.on.isoformat()}/{e.component}/{e.condition}/{e.evidence}" for e in failures.events)
