"""Verdicts on a pull-down, when to measure again, whether to connect gauges."""

from math import exp, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.bath.pull_down import PullDown, fit_pull_down
from service.domain.physics.bath.pull_down_verdict import (
    Because,
    Judgement,
    Verdict,
    judge_pull_down,
    noticeable_change,
    wait_before_measuring,
)
from service.domain.physics.ranges import OutOfRange
from service.domain.physics.refrigeration.gauges import Gauges, advise_gauges, hose_charge, share_of_charge

SET_POINT = 271.0
SLOW_BATH = fit_pull_down([0.0, 1200.0], [300.0, 297.0])
QUICK_BATH = fit_pull_down([0.0, 1200.0], [300.0, 288.0])
EVEN_BATH = fit_pull_down([0.0, 300.0], [300.0, 300.0])


def judge(fit: PullDown, share: float | None = None, worth: float = 1.0) -> Judgement:
    return judge_pull_down(fit, set_point=SET_POINT, share=share, worth=worth)


def test_slow_bath_without_a_rating_is_slow_by_the_trades_rate() -> None:
    judgement = judge(SLOW_BATH)

    assert (judgement.verdict, judgement.because) == (Verdict.SLOW, Because.TRADE_RATE)
    assert judgement.share == pytest.approx(3.0 / (20 / 1.8))  # 3 K where the trade expects 20 degF


def test_cold_bath_is_asked_for_less_than_a_warm_one() -> None:
    """0.5 degF/min: slow from 80 degF, as it should be around 38 degF, with four fifths of the power."""
    drop = 0.5 * 20 / 1.8
    warm = fit_pull_down([0.0, 1200.0], [300.0, 300.0 - drop])
    cold = fit_pull_down([0.0, 1200.0], [279.5, 279.5 - drop])

    assert judge(warm).verdict == Verdict.SLOW
    assert judge(cold, worth=0.8).verdict == Verdict.RECOVERING


@pytest.mark.parametrize(("share", "verdict"), [(0.61, Verdict.RECOVERING), (0.59, Verdict.SLOW)])
def test_share_of_the_rating_decides_where_it_is_known(share: float, verdict: Verdict) -> None:
    judgement = judge(SLOW_BATH, share)

    assert (judgement.verdict, judgement.because) == (verdict, Because.SHARE_OF_RATING)


def test_warming_bath_is_not_cooling_even_early() -> None:
    judgement = judge(fit_pull_down([0.0, 200.0], [295.0, 297.0]))

    assert (judgement.verdict, judgement.because) == (Verdict.NOT_COOLING, Because.WARMING)


def test_bath_within_the_differential_is_at_its_set_point() -> None:
    judgement = judge(fit_pull_down([0.0, 1200.0], [272.0, 272.0]))

    assert (judgement.verdict, judgement.because) == (Verdict.RECOVERING, Because.AT_SET_POINT)


def test_bath_that_ends_above_its_set_point_is_slow() -> None:
    times = [300.0 * number for number in range(12)]
    fit = fit_pull_down(times, [280.0 + 20.0 * exp(-time / 900.0) for time in times], 0.1)

    assert judge(fit, share=0.9).because == Because.ENDS_ABOVE_SET_POINT


def test_clear_drop_in_a_few_minutes_is_judged_at_once() -> None:
    assert judge(fit_pull_down([0.0, 240.0], [300.0, 297.5])).verdict == Verdict.RECOVERING


@pytest.mark.parametrize(("elapsed", "verdict"), [(599.0, Verdict.TOO_EARLY), (600.0, Verdict.NOT_COOLING)])
def test_ten_minutes_part_too_early_from_not_cooling(elapsed: float, verdict: Verdict) -> None:
    assert judge(fit_pull_down([0.0, elapsed], [300.0, 300.0])).verdict == verdict


@given(st.floats(0.0, 25.0), st.floats(0.1, 5.0))
def test_a_faster_bath_is_never_judged_worse(drop: float, more: float) -> None:
    rank = [Verdict.NOT_COOLING, Verdict.SLOW, Verdict.RECOVERING]
    slower, faster = (judge(fit_pull_down([0.0, 1200.0], [300.0, 300.0 - by])) for by in (drop, drop + more))

    assert rank.index(faster.verdict) >= rank.index(slower.verdict)


def test_poor_thermometer_needs_a_larger_change() -> None:
    assert noticeable_change(0.01) == pytest.approx(1 / 1.8, abs=0.01)
    assert noticeable_change(1.0) == pytest.approx(2 * 2**0.5)


def test_too_early_waits_until_ten_minutes_are_full() -> None:
    assert wait_before_measuring(EVEN_BATH, judge(EVEN_BATH), set_point=SET_POINT) == 300.0


def test_recovering_waits_for_the_set_point_but_half_an_hour_at_most() -> None:
    near = fit_pull_down([0.0, 1200.0], [292.0, 276.0])

    assert wait_before_measuring(near, judge(near), set_point=SET_POINT) == pytest.approx(375.0)
    assert wait_before_measuring(QUICK_BATH, judge(QUICK_BATH), set_point=SET_POINT) == pytest.approx(1700.0)
    assert wait_before_measuring(SLOW_BATH, judge(SLOW_BATH, 0.9), set_point=SET_POINT) == 1800.0


def test_slow_bath_gets_another_quarter_of_an_hour() -> None:
    assert wait_before_measuring(SLOW_BATH, judge(SLOW_BATH), set_point=SET_POINT) == 900.0


def test_bath_that_does_not_cool_is_not_waited_for() -> None:
    dead = fit_pull_down([0.0, 900.0], [300.0, 300.0])

    assert wait_before_measuring(dead, judge(dead), set_point=SET_POINT) == 0.0


@pytest.mark.parametrize(
    ("set_point", "share", "differential"), [(400.0, None, 2.0), (nan, None, 2.0), (271.0, None, -1.0)]
)
def test_set_point_and_differential_outside_their_limits_are_refused(
    set_point: float, share: float | None, differential: float
) -> None:
    with pytest.raises(OutOfRange):
        judge_pull_down(QUICK_BATH, set_point=set_point, share=share, differential=differential)


def test_share_that_is_no_number_is_refused() -> None:
    with pytest.raises(OutOfRange, match="share of the rated cooling"):
        judge(QUICK_BATH, nan)


@pytest.mark.parametrize("verdict", [Verdict.RECOVERING, Verdict.TOO_EARLY])
def test_gauges_are_not_needed_while_it_recovers_or_is_too_early(verdict: Verdict) -> None:
    advice = advise_gauges(verdict=verdict, share=0.001, capillary=False, low_side_only=False)

    assert advice == Gauges.NOT_NEEDED


@pytest.mark.parametrize(
    ("share", "capillary", "low_side_only", "advice"),
    [
        (0.10, False, False, Gauges.LEAVE_OFF),
        (0.10, True, True, Gauges.LEAVE_OFF),
        (0.02, True, False, Gauges.LAST_RESORT),
        (0.02, False, False, Gauges.CONNECT),
        (0.001, True, False, Gauges.CONNECT),
        (0.001, False, True, Gauges.LAST_RESORT),
    ],
)
def test_gauges_are_worth_what_they_take_or_not(
    share: float, capillary: bool, low_side_only: bool, advice: Gauges
) -> None:
    given_advice = advise_gauges(verdict=Verdict.SLOW, share=share, capillary=capillary, low_side_only=low_side_only)

    assert given_advice == advice


def test_two_hoses_hold_twice_as_much() -> None:
    assert hose_charge(density=12.0, hoses=2) == 2 * hose_charge(density=12.0)


@pytest.mark.parametrize(("density", "hoses"), [(0.0, 1), (2001.0, 1), (nan, 1), (12.0, 0), (12.0, 5)])
def test_hoses_outside_their_limits_are_refused(density: float, hoses: int) -> None:
    with pytest.raises(OutOfRange):
        hose_charge(density=density, hoses=hoses)


@pytest.mark.parametrize(("held", "charge"), [(-0.1, 0.3), (0.01, 0.0), (nan, 0.3), (0.01, 101.0)])
def test_charge_outside_its_limits_is_refused(held: float, charge: float) -> None:
    with pytest.raises(OutOfRange):
        share_of_charge(held=held, charge=charge)


@pytest.mark.parametrize("share", [-0.1, nan])
def test_share_of_charge_outside_its_limits_is_refused(share: float) -> None:
    with pytest.raises(OutOfRange, match="share of the charge"):
        advise_gauges(verdict=Verdict.SLOW, share=share, capillary=True, low_side_only=True)
