"""Warm lines coming down, against a fine numerical solution, limits and the balance of heat."""

from dataclasses import replace
from math import inf, nan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import lil_matrix  # type: ignore[import-untyped]
from scipy.sparse.linalg import expm_multiply  # type: ignore[import-untyped]

from service.domain.physics.lines.trunk import Bundle, Run
from service.domain.physics.lines.trunk_cooldown import Bath, CoolDown, Loop, cool_down
from service.domain.physics.ranges import OutOfRange

GROUND, BAR = Run(30.0, 289.0, 2.5), Run(9.0, 297.0, 3.4)
BUNDLE = Bundle(0.9, 5.0)
LOOP = Loop(capacity_rate=203.0, tube_heat_capacity=275.0, beer_heat_capacity=3000.0, start=290.0, tower_heat=100.0)
STRONG = Bath(start=271.0, set_point=271.0, heat_capacity=1e8, cooling_power=1e5)
BATH = Bath(start=271.0, set_point=271.0, heat_capacity=1.6e5, cooling_power=1000.0)


def fine(run: Run, seconds: float, cells: int) -> float:
    """The warmest beer by upwind finite volumes and the exponential of one great matrix; an endless cold bath."""
    g, b, a, c = 0.9, 5.0, 1 / run.resistance, LOOP.tube_heat_capacity
    total, flow = 2 * g + b + a, LOOP.capacity_rate / c / (run.length / cells)
    conductances, capacities = (g, g, b), (c, c, LOOP.beer_heat_capacity)
    matrix = lil_matrix((3 * cells + 1, 3 * cells + 1))
    for cell in range(cells):
        rows = (cell, cells + cell, 2 * cells + cell)
        for row, mine, capacity in zip(rows, conductances, capacities, strict=True):
            for column, its in zip(rows, conductances, strict=True):
                matrix[row, column] += mine * its / total / capacity
            matrix[row, row] -= mine / capacity
            matrix[row, -1] += mine * a * run.surroundings / total / capacity
        for row, before in ((rows[0], cell - 1), (rows[1], cells + cell + 1)):
            matrix[row, row] -= flow
            if row == 0:
                matrix[row, -1] += flow * 271.0
            elif row == 2 * cells - 1:
                matrix[row, cells - 1] += flow
                matrix[row, -1] += flow * LOOP.tower_heat / LOOP.capacity_rate
            else:
                matrix[row, before] += flow
    state = np.array([LOOP.start] * (3 * cells) + [1.0])
    return float(expm_multiply(matrix.tocsr() * seconds, state)[2 * cells : 3 * cells].max())


def come_down(*, target: float = 276.5, bath: Bath = BATH, loop: Loop = LOOP) -> CoolDown:
    return cool_down([GROUND, BAR], BUNDLE, loop, bath=bath, target=target)


def test_time_to_the_target_is_that_of_a_fine_numerical_solution() -> None:
    way = cool_down([GROUND], BUNDLE, LOOP, bath=STRONG, target=278.0)
    coarse, finer = (fine(GROUND, way.seconds, cells) for cells in (100, 200))

    assert 2 * finer - coarse == pytest.approx(278.0, abs=0.02)  # upwinding errs with the first power of the cell


def test_heat_taken_less_heat_removed_is_heat_held() -> None:
    way = come_down()

    assert way.heat_taken - way.heat_removed == pytest.approx(way.heat_held, rel=1e-6)


def test_lumped_bundle_comes_down_as_one_exponential() -> None:
    """Incropera, lumped capacitance: much glycol, well sealed, beer the slow part; C/G ln(19/7)."""
    loop = Loop(capacity_rate=5000.0, tube_heat_capacity=1200.0, beer_heat_capacity=9000.0, start=290.0)
    way = cool_down([Run(10.0, 271.0, 1000.0)], Bundle(2.0, 4.0), loop, bath=STRONG, target=278.0)
    conductance = 1 / (1 / 4.0 + 1 / (2 * 2.0))

    assert way.seconds == pytest.approx(9000.0 / conductance * np.log(19 / 7), rel=0.01)


def test_colder_than_the_glycol_can_make_it_is_never() -> None:
    way = come_down(target=272.0)

    assert way.seconds == inf
    assert way.settled > 272.0


def test_refrigeration_weaker_than_the_gain_never_gets_there() -> None:
    weak = replace(BATH, cooling_power=150.0)

    assert come_down(bath=weak).seconds == inf
    assert come_down(bath=weak).settled > come_down().settled + 5.0


def test_beer_that_is_cold_already_takes_no_time() -> None:
    assert come_down(loop=replace(LOOP, start=276.0)).seconds == 0.0


def test_way_down_ends_at_the_target() -> None:
    way = come_down()

    assert way.warmest[0] == 290.0
    assert way.warmest[-1] == pytest.approx(276.5, abs=0.01)
    assert way.times[-1] == pytest.approx(way.seconds, abs=2.0)


def test_bath_is_never_below_its_set_point() -> None:
    assert min(come_down().bath) >= 271.0 - 1e-9


@given(st.floats(500.0, 3000.0))
@settings(max_examples=6, deadline=None)
def test_a_stronger_unit_is_never_slower(power: float) -> None:
    weaker, stronger = (come_down(bath=replace(BATH, cooling_power=watts)).seconds for watts in (power, power * 1.2))

    assert stronger <= weaker + 1e-6


@given(st.floats(500.0, 5000.0))
@settings(max_examples=6, deadline=None)
def test_more_beer_takes_longer(capacity: float) -> None:
    less, more = (come_down(loop=replace(LOOP, beer_heat_capacity=held)).seconds for held in (capacity, 1.2 * capacity))

    assert more > less


@given(st.floats(277.0, 289.0))
@settings(max_examples=6, deadline=None)
def test_a_warmer_target_is_reached_sooner(target: float) -> None:
    assert come_down(target=target + 0.5).seconds <= come_down(target=target).seconds


@pytest.mark.parametrize(
    ("start", "set_point", "heat_capacity", "cooling_power"),
    [
        (400.0, 271.0, 1.6e5, 1000.0),
        (271.0, nan, 1.6e5, 1000.0),
        (271.0, 271.0, 0.0, 1000.0),
        (271.0, 271.0, 1.6e5, -1.0),
    ],
)
def test_bath_outside_its_limits_is_refused(
    start: float, set_point: float, heat_capacity: float, cooling_power: float
) -> None:
    with pytest.raises(OutOfRange):
        Bath(start, set_point, heat_capacity, cooling_power)


def test_target_outside_its_limits_is_refused() -> None:
    with pytest.raises(OutOfRange, match="core temperature"):
        come_down(target=400.0)


@pytest.mark.parametrize("rate", [2.2, 6000.0])
def test_glycol_that_takes_hours_or_no_time_to_come_round_is_refused(rate: float) -> None:
    with pytest.raises(OutOfRange, match="time in which the glycol fills"):
        come_down(loop=replace(LOOP, capacity_rate=rate))


def test_bath_smaller_than_a_piece_of_tube_is_refused() -> None:
    with pytest.raises(OutOfRange, match="glycol in one cell"):
        come_down(bath=replace(BATH, heat_capacity=1000.0))
