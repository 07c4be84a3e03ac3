"""The candidates of one unit: tier, luck, causes, events, and what would settle it."""

from datetime import date

from service.domain.root_causes import explanation
from service.domain.root_causes.baselines import Baselines, kinds_of
from service.domain.root_causes.candidate import Candidate, CandidateEvent
from service.domain.root_causes.case import Case, case_of, expected_next_year
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.sequences import Followed, followed
from service.domain.root_causes.statistics import PairStatistics, pair_statistics

WATCH, PROBABLE, CONFIRMED = 0.50, 0.08, 0.025  # chosen by simulation: see tests/simulation


def candidates_of(history: FailureHistory, baselines: Baselines, as_of: date) -> tuple[Candidate, ...]:
    """The kinds of components in a unit whose failures luck does not explain; one failure never makes a candidate."""
    told = (candidate_of(history, kind, baselines, as_of) for kind in kinds_of(history))
    return tuple(candidate for candidate in told if candidate)


def candidate_of(history: FailureHistory, kind: str, baselines: Baselines, as_of: date) -> Candidate | None:
    """The candidate of one kind, None where there is none."""
    if sum(event.kind == kind for event in history.replaced) < 2:
        return None
    pair = pair_statistics(history, kind, as_of)
    if pair.failure_days < 2:
        return None
    case = case_of(history, pair, baselines.of(kind))
    return _told(case, followed(history, kind, baselines.sequences)) if case.luck < WATCH else None


def tier_of(luck: float) -> str:
    """The tier by the probability of luck."""
    return "confirmed" if luck < CONFIRMED else "probable" if luck < PROBABLE else "watch"


def _told(case: Case, soon_after: tuple[Followed, ...]) -> Candidate:
    best, shares, expected = case.best, case.shares, expected_next_year(case)
    return Candidate(
        unit=case.history.tag,
        component_kind=case.pair.kind,
        tier=tier_of(case.luck),
        luck_probability=case.luck,
        causes=shares,
        events=_events(case, soon_after),
        exposed_share=case.exposed_share,
        other_explanations=explanation.others(shares, case.luck),
        next_check=best.confirm,
        remedy=best.remedy,
        bring=best.bring,
        expected_failures_next_year=expected,
        explanation=explanation.sentences(case, expected, soon_after),
        evidence_key=_key(case.pair),
    )


def _events(case: Case, soon_after: tuple[Followed, ...]) -> tuple[CandidateEvent, ...]:
    return tuple(
        CandidateEvent(
            day=e.on,
            component=e.component,
            condition=e.condition,
            evidence=e.evidence,
            by=e.by,
            reason=e.reason,
            visit=e.visit,
            readings_before=explanation.readings_before(case.history, case.pair.kind, component=e.component, day=e.on),
            soon_after=tuple(explanation.days_after(each) for each in soon_after if each.event.on == e.on),
        )
        for e in case.pair.events
    )


def _key(pair: PairStatistics) -> str:
    """The failures that the case rests on; another failure makes another key."""
    return ";".join(f"{e.on.isoformat()}/{e.component}/{e.condition}/{e.evidence}" for e in pair.events)
