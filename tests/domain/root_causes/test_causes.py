"""The table of causes is whole."""

import pytest

from service.domain.record.fleet import COMPONENT_KINDS
from service.domain.record.visits import CONDITIONS
from service.domain.root_causes.causes import BY_CODE, CAUSES, UNEXPLAINED, causes_of

ASKED_FOR = (
    "condenser_fouled", "switch_undersized", "low_voltage", "loose_terminal", "glycol_weak", "glycol_strong",
    "bath_low", "strainer_blocked", "after_repair", "bad_parts", "unexplained",
)  # fmt: skip


def test_every_cause_that_the_trade_names_is_there_once():
    assert set(ASKED_FOR) <= set(BY_CODE)
    assert len(BY_CODE) == len(CAUSES) + 1


@pytest.mark.parametrize("cause", [*CAUSES, UNEXPLAINED], ids=lambda cause: cause.code)
def test_every_cause_says_what_to_check_what_to_do_and_where_it_comes_from(cause):
    assert all(text.strip() for text in (cause.sentence, cause.confirm, cause.remedy, cause.source))
    assert cause.bring
    assert set(cause.kinds) <= set(COMPONENT_KINDS)
    assert set(cause.typical) <= set(CONDITIONS)


@pytest.mark.parametrize("kind", COMPONENT_KINDS)
def test_chance_is_what_one_believes_first_of_any_kind(kind):
    assert sum(cause.prior for cause in causes_of(kind)) + UNEXPLAINED.prior < 0.2


def test_whoever_opens_a_live_box_is_warned():
    electrical = ("amps", "volt", "rating", "wiring")
    live = [cause for cause in (*CAUSES, UNEXPLAINED) if any(word in cause.confirm for word in electrical)]

    assert live
    assert all("lock out" in cause.confirm for cause in live)
