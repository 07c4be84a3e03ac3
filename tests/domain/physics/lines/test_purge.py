"""How much to run off, and whether waiting is cheaper."""

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.lines.purge import Action, Purge, Reason, purge, purge_or_wait, warm_glasses
from service.domain.physics.ranges import OutOfRange

FOUR_LINES = purge([4.44e-3] * 4)
HOUR = 3600.0


def choose(*, wait: float = HOUR, sales: float = 0.01, stays_cold: bool = True, cleared: Purge = FOUR_LINES) -> object:
    choice = purge_or_wait(cleared, beer_price=2000.0, wait=wait, sales=sales, stays_cold=stays_cold)
    return choice.action, choice.reason


def test_glasses_up_to_the_last_warm_one_run_off() -> None:
    assert warm_glasses([275.0, 288.0, 275.0, 280.0, 276.0], 277.0) == 4


def test_cold_glasses_are_all_served() -> None:
    assert warm_glasses([275.0, 276.0], 277.0) == 0


def test_line_that_stays_warm_runs_off_as_far_as_was_looked() -> None:
    assert warm_glasses([288.0] * 10, 277.0) == 10


@given(st.lists(st.floats(0.0, 0.02), max_size=20))
def test_pitchers_glasses_and_volume_are_the_same_beer(volumes: list[float]) -> None:
    cleared = purge(volumes, pitcher=2e-3, glass=5e-4)

    assert cleared.volume == pytest.approx(sum(volumes))
    assert cleared.pitchers * 4 == pytest.approx(cleared.glasses)


def test_both_figures_are_shown() -> None:
    choice = purge_or_wait(FOUR_LINES, beer_price=2000.0, wait=HOUR, sales=0.01, stays_cold=True)

    assert choice.purge_cost == pytest.approx(35.52 + FOUR_LINES.seconds * 0.01)
    assert choice.wait_cost == pytest.approx(36.0)
    assert (choice.purge_seconds, choice.wait_seconds) == (FOUR_LINES.seconds, HOUR)


def test_a_busy_house_purges() -> None:
    assert choose(sales=0.05) == (Action.PURGE, Reason.CHEAPER)


def test_a_closed_house_waits() -> None:
    assert choose(sales=0.0) == (Action.WAIT, Reason.CHEAPER)


def test_beer_that_warms_again_on_its_way_is_not_worth_purging() -> None:
    assert choose(sales=0.05, stays_cold=False) == (Action.WAIT, Reason.POURS_WARM_AGAIN)


def test_glycol_that_never_cools_the_lines_is_not_waited_for() -> None:
    assert choose(wait=inf) == (Action.PURGE, Reason.GLYCOL_NEVER_COOLS_IT)


def test_neither_helps_where_glycol_fails_and_beer_warms_again() -> None:
    assert choose(wait=inf, stays_cold=False) == (Action.NEITHER, Reason.GLYCOL_NEVER_COOLS_IT)


@pytest.mark.parametrize(("wait", "volumes"), [(0.0, [4e-3]), (HOUR, [0.0])])
def test_cold_lines_need_nothing(wait: float, volumes: list[float]) -> None:
    assert choose(wait=wait, cleared=purge(volumes)) == (Action.NEITHER, Reason.LINES_ARE_COLD)


@given(st.floats(1.0, 1e5), st.floats(1e-4, 10.0))
def test_the_recommendation_is_never_the_dearer_way(wait: float, sales: float) -> None:
    choice = purge_or_wait(FOUR_LINES, beer_price=2000.0, wait=wait, sales=sales, stays_cold=True)

    cost = {Action.PURGE: choice.purge_cost, Action.WAIT: choice.wait_cost}[choice.action]
    assert cost <= min(choice.purge_cost, choice.wait_cost)


@pytest.mark.parametrize("volume", [-1e-3, 10.1, nan])
def test_volume_outside_its_limits_is_refused(volume: float) -> None:
    with pytest.raises(OutOfRange, match="volume"):
        purge([1e-3, volume])


@pytest.mark.parametrize(
    ("price", "wait", "sales"), [(-1.0, 1.0, 1.0), (1.0, -1.0, 1.0), (1.0, nan, 1.0), (1.0, 1.0, nan)]
)
def test_costs_and_times_outside_their_limits_are_refused(price: float, wait: float, sales: float) -> None:
    with pytest.raises(OutOfRange):
        purge_or_wait(FOUR_LINES, beer_price=price, wait=wait, sales=sales, stays_cold=True)


@pytest.mark.parametrize(("pitcher", "glass", "flow"), [(0.0, 5e-4, 6e-5), (2e-3, 0.0, 6e-5), (2e-3, 5e-4, 0.0)])
def test_measures_outside_their_limits_are_refused(pitcher: float, glass: float, flow: float) -> None:
    with pytest.raises(OutOfRange):
        purge([1e-3], pitcher=pitcher, glass=glass, flow=flow)


@pytest.mark.parametrize("limit", [400.0, nan])
def test_limit_outside_its_limits_is_refused(limit: float) -> None:
    with pytest.raises(OutOfRange):
        warm_glasses([280.0], limit)
