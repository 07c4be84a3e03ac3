"""The life cycle of a root cause."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from service.domain.errors import Conflict, Invalid
from service.domain.root_causes.life_cycle import RootCause, decided, found_again, found_no_more

MONDAY, TUESDAY = datetime(2026, 6, 8, 19, 5, tzinfo=UTC), datetime(2026, 6, 9, 19, 5, tzinfo=UTC)
ROOT_CAUSE = RootCause(
    unit="GU-0007", kind="power_switch", tier="probable", probability_of_chance=0.04, document="{}", evidence_key="e",
    first_seen=MONDAY, updated_at=MONDAY,
)  # fmt: skip
MAY = date(2026, 5, 2)
AGAIN = replace(ROOT_CAUSE, probability_of_chance=0.03, updated_at=TUESDAY)


def decide(cause: RootCause, state: str, why: str = "a bad batch") -> RootCause:
    return decided(cause, state, why, by="Ida", at=TUESDAY, today=date(2026, 6, 9))


@pytest.mark.parametrize(
    ("state", "resolved_on"), [("confirmed", None), ("dismissed", None), ("resolved", date(2026, 6, 9))]
)
def test_a_decision_tells_who_when_and_why(state, resolved_on) -> None:
    cause = decide(ROOT_CAUSE, state)

    assert (cause.state, cause.decided_by, cause.decided_at, cause.why) == (
        state,
        "Ida",
        TUESDAY,
        "a bad batch",
    )
    assert (cause.resolved_on, cause.version) == (resolved_on, 2)


@pytest.mark.parametrize(("state", "why"), [("open", "x"), ("solved", "x"), ("confirmed", "  ")])
def test_a_decision_that_says_nothing_is_refused(state, why) -> None:
    with pytest.raises(Invalid):
        decide(ROOT_CAUSE, state, why)


def test_the_same_decision_twice_is_refused() -> None:
    with pytest.raises(Conflict, match="dismissed already"):
        decide(decide(ROOT_CAUSE, "dismissed"), "dismissed")


def test_a_dismissed_root_cause_stays_so_on_the_same_evidence() -> None:
    dismissed = decide(ROOT_CAUSE, "dismissed")

    assert found_again(dismissed, AGAIN, last_failure=MAY) == dismissed


def test_a_dismissed_root_cause_stays_so_when_some_of_its_evidence_is_gone() -> None:
    dismissed = decide(replace(ROOT_CAUSE, evidence_key="e;f"), "dismissed")

    assert found_again(dismissed, AGAIN, last_failure=MAY) == dismissed


def test_a_dismissed_root_cause_stays_so_when_a_failure_of_it_is_corrected() -> None:
    dismissed = decide(replace(ROOT_CAUSE, evidence_key="2026-05-02/switch-1/unknown/reported"), "dismissed")
    corrected = replace(AGAIN, evidence_key="2026-05-02/switch-1/burnt/seen")

    assert found_again(dismissed, corrected, last_failure=MAY) == dismissed


def test_a_dismissed_root_cause_returns_on_new_evidence_with_the_note_of_its_dismissal() -> None:
    cause = found_again(decide(ROOT_CAUSE, "dismissed"), replace(AGAIN, evidence_key="f"), last_failure=MAY)

    assert (cause.state, cause.why, cause.version, cause.evidence_key) == (
        "open",
        "a bad batch",
        3,
        "f",
    )


@pytest.mark.parametrize("state", ["confirmed", "resolved"])
def test_other_decisions_stand_whatever_is_found(state) -> None:
    cause = found_again(decide(ROOT_CAUSE, state), replace(AGAIN, evidence_key="f"), last_failure=MAY)

    assert (cause.state, cause.probability_of_chance) == (state, 0.03)


def test_nothing_new_changes_nothing() -> None:
    assert found_again(ROOT_CAUSE, replace(ROOT_CAUSE, updated_at=TUESDAY), last_failure=MAY) == ROOT_CAUSE


@pytest.mark.parametrize(("failed", "state"), [(9, "resolved"), (10, "open")])
def test_a_resolved_root_cause_returns_with_a_failure_after_the_remedy(failed, state) -> None:
    cause = found_again(decide(ROOT_CAUSE, "resolved"), AGAIN, last_failure=date(2026, 6, failed))

    assert (cause.state, cause.why, cause.resolved_on) == (state, "a bad batch", date(2026, 6, 9))


@pytest.mark.parametrize("state", ["dismissed", "resolved"])
def test_a_root_cause_that_returned_tells_the_decision_it_returned_from(state) -> None:
    cause = found_again(decide(ROOT_CAUSE, state), replace(AGAIN, evidence_key="f"), last_failure=date(2026, 6, 10))

    assert (cause.returned_from, cause.decided_by, decide(ROOT_CAUSE, state).returned_from) == (
        state,
        "Ida",
        None,
    )


def test_an_undecided_root_cause_found_no_more_is_withdrawn() -> None:
    assert found_no_more(ROOT_CAUSE, after_remedy=None, at=TUESDAY) is None


def test_a_decided_root_cause_found_no_more_stays_and_says_since_when() -> None:
    cause = found_no_more(decide(ROOT_CAUSE, "confirmed"), after_remedy=None, at=TUESDAY)

    assert (cause.state, cause.absent_since, cause.version) == ("confirmed", TUESDAY, 3)
    assert found_no_more(cause, after_remedy=None, at=TUESDAY + timedelta(days=1)) == cause


@pytest.mark.parametrize("state", ["confirmed", "dismissed"])
def test_a_root_cause_found_after_all_is_absent_no_more(state) -> None:
    gone = found_no_more(decide(ROOT_CAUSE, state), after_remedy=None, at=TUESDAY)
    cause = found_again(gone, AGAIN, last_failure=MAY)

    assert (cause.absent_since, cause.state) == (None, state)
