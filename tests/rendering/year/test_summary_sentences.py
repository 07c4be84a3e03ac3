"""Sentences of the service summary."""

from dataclasses import replace
from datetime import date

import pytest

from service.domain.summary.lines import RootCauseLine
from service.rendering.year.summary_sentences import root_cause

FOUND = RootCauseLine(
    unit="GU-0007", kind="pump", tier="strong", state="open", probability_of_chance=0.01,
    first_seen_on=date(2026, 6, 9), explanation="Three pumps seized.", causes=(),
    next_check="Measure the glycol.", remedy="Bring it to 35 %.", decided_by=None, decided_on=None, why=None,
    resolved_on=None, failed_before=None, years_before=None, failed_after=None, years_after=None,
    chance=None, verdict=None,
)  # fmt: skip
DIRECTIONS = "Next check: Measure the glycol. Remedy: Bring it to 35 %."


@pytest.mark.parametrize("explanation", ["Three pumps seized.", f"Three pumps seized. {DIRECTIONS}"])
def test_a_root_cause_names_its_next_check_and_remedy_once(explanation):
    text = " ".join(root_cause(replace(FOUND, explanation=explanation))["sentences"])

    assert (text.count("Measure the glycol."), text.count("Bring it to 35 %.")) == (1, 1)
