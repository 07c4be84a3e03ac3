"""The table of causes is whole."""

import pytest

from service.domain.record.fleet import COMPONENT_KINDS
from service.domain.record.visits import CONDITIONS
from service.domain.root_causes.baselines import default_setting
from service.domain.root_causes.causes import BY_CODE, CAUSES, UNEXPLAINED, dangerous
from service.domain.root_causes.wording import WORDS

ASKED_FOR = (
    "condenser_fouled", "switch_undersized", "low_voltage", "loose_terminal", "glycol_weak", "glycol_strong",
    "bath_low", "strainer_blocked", "after_repair", "bad_parts", "unexplained",
)  # fmt: skip


def test_every_cause_that_the_trade_names_is_there_once():
    assert set(ASKED_FOR) <= set(BY_CODE)
    assert len(BY_CODE) == len(CAUSES) + 1


@pytest.mark.parametrize("cause", [*CAUSES, UNEXPLAINED], ids=lambda cause: cause.code)
def test_every_cause_says_what_to_check_what_to_do_and_where_it_comes_from(cause):
    words = WORDS[cause.code]

    assert all(text.strip() for text in (words.sentence, words.confirm, words.remedy, words.source))
    assert words.bring


@pytest.mark.parametrize("cause", CAUSES, ids=lambda cause: cause.code)
def test_every_cause_harms_what_it_harms_for_a_reason(cause):
    for harm in cause.harms:
        assert harm.kind in COMPONENT_KINDS
        assert harm.why.strip()
        assert set(harm.marks) <= set(CONDITIONS)
    assert len({harm.kind for harm in cause.harms}) == len(cause.harms)


@pytest.mark.parametrize(
    ("code", "kinds"),
    [
        ("condenser_fouled", {"condenser_fan", "temperature_controller", "compressor", "power_switch"}),
        ("low_voltage", {"pump", "condenser_fan", "compressor", "temperature_controller"}),
        ("glycol_strong", {"pump", "pump_motor"}),
        ("bath_low", {"pump", "pump_motor"}),
        ("ambient_hot", {"pump", "compressor", "condenser_fan"}),
    ],
)
def test_a_cause_reaches_what_it_physically_harms(code, kinds):
    """Common practice, no source: what stands in the same air, on the same supply, in the same fluid."""
    assert kinds <= {harm.kind for harm in BY_CODE[code].harms}


def test_nobody_knows_what_an_unknown_cause_leaves():
    assert all(UNEXPLAINED.marks(kind) == () for kind in COMPONENT_KINDS)


@pytest.mark.parametrize("kind", COMPONENT_KINDS)
def test_chance_is_what_one_believes_first_of_any_kind(kind):
    setting = default_setting(kind)

    assert sum(setting.priors) + setting.unexplained < 0.2


def test_whoever_opens_a_live_box_is_warned():
    electrical = ("amps", "volt", "rating", "wiring")
    live = [words for words in WORDS.values() if any(word in words.confirm for word in electrical)]

    assert live
    assert all("lock out" in words.confirm for words in live)


@pytest.mark.parametrize(
    ("code", "kind", "found", "danger"),
    [
        ("condenser_fouled", "power_switch", "unknown", True),
        ("unexplained", "power_switch", "burnt", True),
        ("unexplained", "contactor", "discoloured", True),
        ("a cause that is listed no more", "power_cord", "burnt", True),
        ("unexplained", "power_switch", "stuck", False),
        ("glycol_strong", "pump_motor", "burnt", False),
    ],
)
def test_a_part_that_can_shock_or_burn_is_a_danger_by_its_cause_or_as_it_was_found(code, kind, found, danger):
    """Common practice, no source: whoever replaces a burnt switch need not know the cause to know the danger."""
    assert dangerous(code, kind, ["unknown", found]) == danger
