"""Forecasts of drifting figures: published values of the inverse Gaussian, simulated series of known truth."""

from time import process_time

import numpy as np
import pytest
from scipy.stats import invgauss

from service.domain.statistics.drift import Drift
from service.domain.statistics.drift_learning import learned
from service.domain.statistics.passage import passage

USUAL = Drift(slope=0.02, spread=0.7, noise=0.6, wander=0.03)
LIMIT, HORIZON = 10.0, 6000
KINDS = ("clean", "outliers", "wandering", "change of slope")


def simulated(chance: np.random.Generator, readings: int, kind: str) -> tuple[list[float], list[float], float]:
    """Days, readings, and how many days after the last of them the figure reaches its limit, which it has not."""
    while True:
        days = np.concatenate(([0.0], np.cumsum(chance.uniform(20.0, 60.0, readings - 1))))
        slopes = np.full(HORIZON, 0.02 * np.exp(0.5 * chance.normal()))
        if kind == "change of slope":
            slopes[int(days[max(readings // 2, 1)]) :] *= 2.0 ** chance.uniform(-1.0, 1.0)
        wandering = 0.06 * chance.normal(size=HORIZON) if kind == "wandering" else 0.0
        figure = np.concatenate(([0.0], np.cumsum(slopes + wandering)))
        values = figure[days.astype(int)] + 0.6 * chance.normal(size=readings)
        if kind == "outliers":
            wrong = chance.random(readings) < 0.15
            values += wrong * chance.choice([-1.0, 1.0], readings) * chance.uniform(4.0, 8.0, readings) * 0.6
        crossing = int(np.argmax(figure >= LIMIT))
        if crossing > days[-1]:
            return days.tolist(), values.tolist(), crossing - days[-1]


@pytest.mark.parametrize("kind", KINDS)
def test_the_80_per_cent_interval_holds_as_often_as_it_says(kind) -> None:
    chance = np.random.default_rng(20260314)
    held: dict[int, list[bool]] = {3: [], 5: [], 8: []}
    for _ in range(3):
        fleet = [simulated(chance, int(chance.integers(3, 9)), kind)[:2] for _ in range(100)]
        drift = learned(fleet, USUAL)
        for readings, seen in held.items():
            for _ in range(80):
                days, values, left = simulated(chance, readings, kind)
                found = passage(days, values, LIMIT, drift, HORIZON)
                seen.append((found.low or 0.0) <= left <= (found.high or HORIZON))
    shares = {readings: sum(seen) / len(seen) for readings, seen in held.items()}
    assert all(0.70 <= share <= 0.92 for share in shares.values()), shares


def test_an_exact_reading_and_a_known_slope_give_the_inverse_gaussian() -> None:
    mean, shape = 4.0 / 0.02, (4.0 / 0.03) ** 2
    expected = [invgauss.ppf(share, mean / shape, scale=shape) for share in (0.1, 0.5, 0.9)]
    found = passage([0.0], [6.0], LIMIT, Drift(0.02, 5e-4, 5e-4, 0.03, changes=0.0), 1000.0)
    assert [found.low, found.likely, found.high] == pytest.approx(expected, rel=2e-3)
    assert expected == pytest.approx([173.6594, 198.8823, 227.7765], rel=1e-6)


def test_without_a_slope_it_is_the_first_passage_of_a_wiener_process() -> None:
    """P(T <= t) = 2 Phi(-d / (w sqrt t)): the reflection principle, from memory."""
    found = passage([0.0], [9.0], LIMIT, Drift(0.02, 0.5, 5e-4, 0.1, steady=1.0, changes=0.0), 400.0)
    assert found.within == pytest.approx(2.0 * 0.3085375, rel=1e-3)  # Phi(-.5), a table of the normal distribution
    assert found.high is None


def test_a_wrong_reading_does_not_carry_the_forecast_away() -> None:
    days, values = [0.0, 40.0, 80.0, 120.0, 160.0], [0.0, 0.8, 1.6, 2.4, 3.2]
    right = passage(days, values, LIMIT, USUAL, HORIZON)
    wrong = passage(days, [0.0, 0.8, 7.6, 2.4, 3.2], LIMIT, USUAL, HORIZON)
    assert wrong.likely == pytest.approx(right.likely, rel=0.15)


def test_after_a_change_of_slope_the_later_readings_count() -> None:
    days = [40.0 * number for number in range(9)]
    values = [0.0, 0.2, 0.4, 0.6, 0.8, 2.4, 4.0, 5.6, 7.2]
    found = passage(days, values, LIMIT, Drift(0.02, 0.7, 0.1, 0.01, changes=0.3), HORIZON)
    assert found.likely == pytest.approx(2.8 / 0.04, rel=0.15)


def test_readings_before_a_correction_say_how_fast_it_drifts() -> None:
    """Twice as fast as the fleet in two former series, 0.04 a day against 0.02: afterwards about half the time."""
    former = [([0.0, 60.0, 120.0, 180.0], [0.0, 2.4, 4.8, 7.2])] * 2
    fresh = passage([0.0], [0.0], LIMIT, USUAL, HORIZON)
    known = passage([0.0], [0.0], LIMIT, USUAL, HORIZON, former)
    assert known.likely == pytest.approx(10.0 / 0.04, rel=0.2)
    assert fresh.likely == pytest.approx(10.0 / 0.02, rel=0.2)
    assert known.high - known.low < fresh.high - fresh.low


def test_what_has_crossed_is_crossed() -> None:
    found = passage([0.0, 30.0, 60.0], [9.0, 11.5, 14.0], LIMIT, USUAL, HORIZON)
    assert found.crossed > 0.95
    assert found.low == 0.0


def test_nothing_learned_is_the_default() -> None:
    assert learned([], USUAL) == USUAL
    assert learned([([0.0, 1.0], [0.0, 1.0])], USUAL) == USUAL
    assert learned([([5.0, 5.0, 5.0], [0.0, 1.0, 2.0])], USUAL) == USUAL


def test_a_steady_fleet_is_learned_to_be_steady() -> None:
    chance = np.random.default_rng(7)
    days = [40.0 * number for number in range(8)]
    fleet = [(days, (0.6 * chance.normal(size=8)).tolist()) for _ in range(60)]
    found = learned(fleet, Drift(0.02, 0.7, 0.6, 0.03, steady=0.3))
    assert found.steady > 0.8
    assert passage(days, [0.0] * 8, LIMIT, found, 730.0).within < 0.1


def test_a_forecast_takes_milliseconds() -> None:
    """The goal is 5 ms a series; a whole run is compared, in processor time, with room for a slow machine."""
    days, values = [30.0 * number for number in range(8)], [0.6 * number for number in range(8)]
    passage(days, values, LIMIT, USUAL, HORIZON)
    begun = process_time()
    for number in range(20):
        passage(days, [value + 0.01 * number for value in values], LIMIT, USUAL, HORIZON)
    assert (process_time() - begun) / 20 < 0.02
