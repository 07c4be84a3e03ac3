"""The life of a suspected root cause."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from service.domain.errors import Conflict, Invalid
from service.domain.root_causes.life_cycle import RootCause, decided, found_again, found_no_more

MONDAY, TUESDAY = datetime(2026, 6, 8, 19, 5, tzinfo=UTC), datetime(2026, 6, 9, 19, 5, tzinfo=UTC)
CASE = RootCause(
    unit="GU-0007", kind="power_switch", tier="probable", luck_probability=0.04, document="{}", evidence_key="e",
    first_seen=MONDAY, updated_at=MONDAY,
)  # fmt: skip
MAY = date(2026, 5, 2)
AGAIN = replace(CASE, luck_probability=0.03, updated_at=TUESDAY)


def decide(case: RootCause, state: str, why: str = "a bad batch") -> RootCause:
    return decided(case, state, why, by="Ida", at=TUESDAY, today=date(2026, 6, 9))


@pytest.mark.parametrize(
    ("state", "resolved_on"), [("confirmed", None), ("dismissed", None), ("resolved", date(2026, 6, 9))]
)
def test_a_decision_tells_who_when_and_why(state, resolved_on) -> None:
    case = decide(CASE, state)

    assert (case.state, case.decided_by, case.decided_at, case.why) == (state, "Ida", TUESDAY, "a bad batch")
    assert (case.resolved_on, case.version) == (resolved_on, 2)


@pytest.mark.parametrize(("state", "why"), [("open", "x"), ("solved", "x"), ("confirmed", "  ")])
def test_a_decision_that_says_nothing_is_refused(state, why) -> None:
    with pytest.raises(Invalid):
        decide(CASE, state, why)


def test_the_same_decision_twice_is_refused() -> None:
    with pytest.raises(Conflict, match="dismissed already"):
        decide(decide(CASE, "dismissed"), "dismissed")


def test_a_dismissed_case_stays_so_on_the_same_evidence() -> None:
    dismissed = decide(CASE, "dismissed")

    assert found_again(dismissed, AGAIN, last_failure=MAY) == dismissed


def test_a_dismissed_case_stays_so_when_some_of_its_evidence_is_gone() -> None:
    dismissed = decide(replace(CASE, evidence_key="e;f"), "dismissed")

    assert found_again(dismissed, AGAIN, last_failure=MAY) == dismissed


def test_a_dismissed_case_stays_so_when_a_failure_of_it_is_corrected() -> None:
    dismissed = decide(replace(CASE, evidence_key="2026-05-02/switch-1/unknown/reported"), "dismissed")
    corrected = replace(AGAIN, evidence_key="2026-05-02/switch-1/burnt/seen")

    assert found_again(dismissed, corrected, last_failure=MAY) == dismissed


def test_a_dismissed_case_returns_on_new_evidence_with_the_note_of_its_dismissal() -> None:
    case = found_again(decide(CASE, "dismissed"), replace(AGAIN, evidence_key="f"), last_failure=MAY)

    assert (case.state, case.why, case.version, case.evidence_key) == ("open", "a bad batch", 3, "f")


@pytest.mark.parametrize("state", ["confirmed", "resolved"])
def test_other_decisions_stand_whatever_is_found(state) -> None:
    case = found_again(decide(CASE, state), replace(AGAIN, evidence_key="f"), last_failure=MAY)

    assert (case.state, case.luck_probability) == (state, 0.03)


def test_nothing_new_changes_nothing() -> None:
    assert found_again(CASE, replace(CASE, updated_at=TUESDAY), last_failure=MAY) == CASE


@pytest.mark.parametrize(("failed", "state"), [(9, "resolved"), (10, "open")])
def test_a_resolved_case_returns_with_a_failure_after_the_remedy(failed, state) -> None:
    case = found_again(decide(CASE, "resolved"), AGAIN, last_failure=date(2026, 6, failed))

    assert (case.state, case.why, case.resolved_on) == (state, "a bad batch", date(2026, 6, 9))


@pytest.mark.parametrize("state", ["dismissed", "resolved"])
def test_a_case_that_returned_tells_the_decision_it_returned_from(state) -> None:
    case = found_again(decide(CASE, state), replace(AGAIN, evidence_key="f"), last_failure=date(2026, 6, 10))

    assert (case.returned_from, case.decided_by, decide(CASE, state).returned_from) == (state, "Ida", None)


def test_an_undecided_case_found_no_more_is_withdrawn() -> None:
    assert found_no_more(CASE, after_remedy=None, at=TUESDAY) is None


def test_a_decided_case_found_no_more_stays_and_says_since_when() -> None:
    case = found_no_more(decide(CASE, "confirmed"), after_remedy=None, at=TUESDAY)

    assert (case.state, case.absent_since, case.version) == ("confirmed", TUESDAY, 3)
    assert found_no_more(case, after_remedy=None, at=TUESDAY + timedelta(days=1)) == case


@pytest.mark.parametrize("state", ["confirmed", "dismissed"])
def test_a_case_found_after_all_is_absent_no_more(state) -> None:
    gone = found_no_more(decide(CASE, state), after_remedy=None, at=TUESDAY)
    case = found_again(gone, AGAIN, last_failure=MAY)

    assert (case.absent_since, case.state) == (None, state)
