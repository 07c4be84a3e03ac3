"""The root causes of one unit: tier, probability of chance, causes, failures, and what to check next."""

from collections import Counter
from datetime import date

from service.domain.record.failed import is_failure
from service.domain.root_causes.attribution import (
    Attribution,
    attributions_of,
    chance_of_so_many,
    expected_next_year,
    quiet_of,
)
from service.domain.root_causes.baselines import Baselines
from service.domain.root_causes.before_failure import nameplates, not_done, readings_before
from service.domain.root_causes.failures import KindFailures, views_of
from service.domain.root_causes.fleet_search import FleetCause, shown_at, suspected
from service.domain.root_causes.found import AfterAnother, FailureEvent, RootCauseFound
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.last_looks import absent_since, still_so
from service.domain.root_causes.sequences import Followed, followed

GONE, DOUBTFUL = 0.25, 0.5  # of a cause's being still at work: judged
WATCH, PROBABLE, STRONG = 0.28, 0.13, 0.04  # chosen by simulation: see DEVELOPERS.md, "Root causes"


def root_causes_of(history: FailureHistory, baselines: Baselines, as_of: date) -> tuple[RootCauseFound, ...]:
    """The kinds of components in a unit whose failures chance does not explain; one failure is never enough."""
    each = (
        _found(weighed, followed(weighed.history, weighed.failures.kind, baselines.sequences), baselines.fleet)
        for weighed in attributions_of(history, baselines.of, as_of, suspected(baselines.fleet, history.tag))
        if weighed.chance < WATCH
    )
    return tuple(found for found in each if found)


def tier_of(chance: float, still_at_work: float = 1.0) -> str | None:
    """The tier by the probability of chance; after a long quiet time only the lowest, in the end none."""
    if chance >= WATCH or still_at_work < GONE:
        return None
    if still_at_work < DOUBTFUL:
        return "watch"
    return "strong" if chance < STRONG else "probable" if chance < PROBABLE else "watch"


def _found(
    weighed: Attribution, preceding: tuple[Followed, ...], fleet: tuple[FleetCause, ...]
) -> RootCauseFound | None:
    quiet = quiet_of(weighed)
    tier = tier_of(weighed.chance, quiet.still_at_work)
    if tier is None:
        return None
    return RootCauseFound(
        unit=weighed.history.tag,
        component_kind=weighed.failures.kind,
        tier=tier,
        probability_of_chance=weighed.chance,
        causes=weighed.shares,
        events=_events(weighed, preceding),
        exposed_share=weighed.exposed_share,
        expected_failures_next_year=expected_next_year(weighed),
        chance_of_so_many=chance_of_so_many(weighed),
        quiet=quiet,
        after_others=_after_others(preceding),
        nameplates=nameplates(weighed.history, weighed.best, {e.component for e in weighed.failures.events}),
        remarks=_remarks(weighed, fleet),
        evidence_key=_key(weighed.failures),
    )


def _after_others(preceding: tuple[Followed, ...]) -> tuple[AfterAnother, ...]:
    counts = Counter(each.sequence for each in preceding if each.sequence)
    return tuple(AfterAnother(sequence.after, count, sequence.ratio) for sequence, count in counts.items())


def _remarks(weighed: Attribution, fleet: tuple[FleetCause, ...]) -> dict[str, str | int]:
    failures, history, best = weighed.failures, weighed.history, weighed.best
    cleaned = any(t.task in best.tasks and t.result == "done" for t in history.performed)
    gone, last = weighed.went_on or (None, None)
    known: dict[str, str | int | None] = {
        "reported": sum(e.evidence == "reported" or e.by == "others" for e in failures.events),
        "unknown_why": sum(not is_failure(e) for e in failures.events),
        "not_cleaned_since": history.start.isoformat() if best.tasks and not cleaned else None,
        "retired_on": history.end.isoformat() if history.retired else None,
        "before_installation": history.before_installation,
        "left_out": failures.left_out,
        "fleet_shows": shown_at(fleet, history.tag, failures.kind),
        "gone": gone,
        "last_without": last,
        "read_in_trouble": _read_in_trouble(weighed),
        "absent_since": absent_since(weighed),
        "still_so": still_so(weighed),
        **not_done(history, best, failures.events[-1].on),
    }
    return {code: value for code, value in known.items() if value}


def _read_in_trouble(weighed: Attribution) -> str | None:
    """What shows the best cause, if it was read on days alone on which a failure may have made it so."""
    history, kind, codes = weighed.history, weighed.failures.kind, {e.component for e in weighed.failures.events}
    views = [] if weighed.view is None else [views_of(kind)[weighed.view][0]]
    return next((v.quantity for v in views if any(v.by_trouble(history, kind, code) for code in sorted(codes))), None)


def _events(weighed: Attribution, preceding: tuple[Followed, ...]) -> tuple[FailureEvent, ...]:
    kind, view = weighed.failures.kind, weighed.view
    return tuple(
        FailureEvent(
            day=e.on,
            component=e.component,
            condition=e.condition,
            evidence=e.evidence,
            by=e.by,
            reason=e.reason,
            visit=e.visit,
            readings_before=readings_before(weighed.history, kind, component=e.component, day=e.first or e.on),
            preceding_failures=tuple(_days_after(each) for each in preceding if e.exact and each.event.on == e.on),
            present=None if view is None or weighed.assumed(e.component) else weighed.failures.scores[view][number],
            stated=e.stated,
            earliest=None if e.exact else e.first,
        )
        for number, e in enumerate(weighed.failures.events)
    )


def _days_after(each: Followed) -> str:
    return f"{each.before.kind.replace('_', ' ')}, {each.days} days before"


def _key(failures: KindFailures) -> str:
    """The failures that the root cause rests on; another failure makes another key."""
    return ";".join(f"{e.stated or e.on}/{e.component}/{e.condition}/{e.evidence}" for e in failures.events)
