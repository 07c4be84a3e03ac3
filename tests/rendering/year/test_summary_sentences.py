"""Sentences of the service summary."""

from dataclasses import replace
from datetime import date

import pytest

from service.domain.summary.letter_lines import Action, CustomerRootCause
from service.rendering.year.summary_sentences import action, root_cause

FOUND = CustomerRootCause(
    unit="GU-0007", kind="pump", state="open", first_seen_on=date(2026, 6, 9), failed="Two pumps failed.",
    think="The glycol was weak.", do="We will bring it to strength.", ours=None, decided_on=None, resolved_on=None,
    verdict=None,
)  # fmt: skip
ADVISED = Action(
    units=("GU-1",), who="you", what="Keep the air side free", why=("GU-1: x", "GU-1: y"), by=None, basis="words",
    first=date(2026, 3, 1), last=date(2026, 8, 1),
)  # fmt: skip


def test_a_root_cause_is_three_sentences_and_whether_the_remedy_worked():
    assert root_cause(FOUND) == "Two pumps failed. The glycol was weak. We will bring it to strength."
    worked = replace(FOUND, state="resolved", verdict="it worked")
    assert root_cause(worked).endswith("Since then: it worked.")
    assert root_cause(replace(worked, state="open")) == root_cause(FOUND)


@pytest.mark.parametrize(
    ("made", "why", "by"),
    [
        (ADVISED, "Advised 2 times, last on 2026-08-01.", ""),
        (replace(ADVISED, why=("GU-1: x",)), "Advised on 2026-08-01.", ""),
        (
            replace(ADVISED, units=("GU-1", "GU-2"), basis="overdue", by=date(2026, 12, 1)),
            "Overdue at 2 units, the oldest since 2026-03-01.",
            "By 2026-12-01.",
        ),
        (replace(ADVISED, who="we", why=("GU-1: x",), basis="limit", by=date(2026, 12, 1)), "X", "By 2026-12-01."),
        (replace(ADVISED, who="we", why=("GU-1: x",), basis="danger", by=date(2026, 12, 1)), "X", "At once."),
        (
            replace(ADVISED, who="we", basis="overdue", why=("GU-1: due since 2026-03-01.",)),
            "Due since 2026-03-01.",
            "As soon as possible.",
        ),
    ],
)
def test_an_action_says_why_and_by_when(made, why, by):
    shown = action(made, 5)

    assert (shown["what"], shown["why"], shown["by"]) == ("Keep the air side free.", why, by)
