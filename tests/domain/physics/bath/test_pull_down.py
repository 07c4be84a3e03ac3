"""A bath coming down: the fit, its uncertainty, heat, time."""

from math import exp, inf, log, nan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import curve_fit  # type: ignore[import-untyped]

from service.domain.physics.bath.heat import bath_heat_capacity, cooling_power, heat_removed
from service.domain.physics.bath.pull_down import Estimate, final_temperature, fit_pull_down, time_to
from service.domain.physics.ranges import OutOfRange

TIMES = [0.0, 300.0, 700.0, 1200.0, 1800.0]
FINAL, SPAN, TAU = 268.0, 30.0, 1500.0


def falling(times: list[float], final: float = FINAL, tau: float = TAU) -> list[float]:
    return [final + SPAN * exp(-time / tau) for time in times]


def test_two_readings_are_a_straight_line() -> None:
    fit = fit_pull_down([100.0, 700.0], [300.0, 294.0])

    assert (fit.start, fit.rate, fit.bend) == (pytest.approx(300.0), pytest.approx(0.01), 0.0)
    assert final_temperature(fit) is None


def test_uncertainty_of_two_readings_is_that_of_a_difference() -> None:
    """JCGM 100:2008 (GUM), 5.1.2: sqrt(2) u over the time."""
    fit = fit_pull_down([0.0, 600.0], [300.0, 294.0], 0.3)

    assert fit.mean_rate.uncertainty == pytest.approx(2**0.5 * 0.3 / 600.0)


@given(st.floats(260.0, 275.0), st.floats(900.0, 3000.0))
@settings(max_examples=40, deadline=None)
def test_exact_readings_give_back_their_curve(final: float, tau: float) -> None:
    fit = fit_pull_down(TIMES, falling(TIMES, final, tau), 0.01)
    estimate = final_temperature(fit)

    assert estimate is not None
    assert estimate.value == pytest.approx(final, abs=1e-3)
    assert fit.bend == pytest.approx(1 / tau, rel=1e-4)


@given(st.floats(272.0, 285.0))
def test_time_to_a_temperature_is_the_curves_inverse(target: float) -> None:
    fit = fit_pull_down(TIMES, falling(TIMES), 0.01)
    left = time_to(fit, target)

    assert left.value == pytest.approx(max(TAU * log(SPAN / (target - FINAL)) - 1800.0, 0.0), abs=0.5)
    if left.value > 0.0:
        assert fit.at(fit.elapsed + left.value) == pytest.approx(target, abs=1e-9)


def test_fit_and_covariance_are_those_of_scipys_curve_fit() -> None:
    """scipy.optimize.curve_fit, another parametrisation: final, span, time constant."""
    noise = [0.05, -0.04, 0.02, 0.03, -0.05]
    readings = [value + error for value, error in zip(falling(TIMES), noise, strict=True)]
    fit = fit_pull_down(TIMES, readings, 0.1)
    found, covariance = curve_fit(
        lambda t, final, span, tau: final + span * np.exp(-t / tau),
        TIMES, readings, (268.0, 30.0, 1500.0), sigma=[0.1] * 5, absolute_sigma=True,
    )  # fmt: skip

    estimate = final_temperature(fit)
    assert estimate is not None
    assert estimate.value == pytest.approx(found[0], abs=1e-3)
    assert estimate.uncertainty == pytest.approx(covariance[0, 0] ** 0.5, rel=1e-2)


def test_stated_uncertainty_covers_the_truth_as_often_as_stated() -> None:
    """Two standard uncertainties hold about 95 % of 200 made-up pull-downs (fixed seed)."""
    noise = np.random.default_rng(7).normal(0.0, 0.1, (200, len(TIMES)))
    finals = [final_temperature(fit_pull_down(TIMES, (np.array(falling(TIMES)) + row).tolist(), 0.1)) for row in noise]

    covered = [abs(final.value - FINAL) < 2 * final.uncertainty for final in finals if final is not None]
    assert len(covered) > 190
    assert 0.90 < sum(covered) / len(covered) <= 1.0


def test_bend_that_the_thermometer_cannot_show_stays_a_straight_line() -> None:
    assert fit_pull_down([0.0, 300.0, 600.0], [300.0, 297.1, 294.3], 0.3).bend == 0.0


def test_bath_that_speeds_up_is_a_straight_line() -> None:
    assert fit_pull_down([0.0, 300.0, 600.0, 900.0], [300.0, 299.5, 297.0, 292.0], 0.1).bend == 0.0


def test_temperature_below_the_final_one_is_never_reached() -> None:
    fit = fit_pull_down(TIMES, falling(TIMES), 0.01)

    assert time_to(fit, FINAL - 1.0).value == inf


def test_temperature_already_passed_takes_no_time() -> None:
    assert time_to(fit_pull_down([0.0, 600.0], [300.0, 290.0]), 295.0).value == 0.0


@pytest.mark.parametrize("count", range(2, 9))
@pytest.mark.parametrize("bath", [300.0, 299.8166666666667, 271.3722222222222])
def test_bath_that_does_not_cool_never_gets_there(count: int, bath: float) -> None:
    fit = fit_pull_down([137.3 * number for number in range(count)], [bath] * count)

    assert (fit.start, fit.rate, fit.bend) == (bath, 0.0, 0.0)
    assert time_to(fit, bath - 5.0) == Estimate(inf, inf)


@pytest.mark.parametrize(("drop", "cools"), [(0.42, False), (0.43, True)])
def test_bath_that_cools_by_less_than_its_uncertainty_never_gets_there(drop: float, cools: bool) -> None:
    """Two readings good to 0.3 K are 0.42 K apart by chance: JCGM 100:2008 (GUM), 5.1.2."""
    left = time_to(fit_pull_down([0.0, 600.0], [300.0, 300.0 - drop], 0.3), 295.0)

    assert (left.value < inf) is cools


def test_figures_are_plain_arithmetic_whatever_the_processor() -> None:
    """To the last digit; numpy.linalg.lstsq gives other last digits with every kernel of OpenBLAS."""
    fit = fit_pull_down([0.0, 600.0, 1200.0], [300.0, 294.0, 288.5], 0.3)

    assert (fit.start.hex(), fit.rate.hex()) == ("0x1.2beaaaaaaaaabp+8", "0x1.3a06d3a06d3a1p-7")


@given(st.integers(-30, 90), st.integers(1, 40), st.integers(2, 6))
def test_bath_at_its_target_is_there_whatever_it_came_from(target: int, drop: int, count: int) -> None:
    """80 to 28 °F in even steps, then asked for 28 °F: nothing is left to wait for."""
    falls = [(target + drop * left / (count - 1) + 459.67) / 1.8 for left in reversed(range(count))]
    fit = fit_pull_down([600.0 * number for number in range(count)], falls)

    assert time_to(fit, (target + 459.67) / 1.8) == Estimate(0.0, 0.0)


def test_bath_that_came_to_rest_before_the_second_reading_is_no_straight_line() -> None:
    """The bend cannot be read from it, the final temperature can: the mean of the last three, by their scatter."""
    fit = fit_pull_down([0.0, 3000.0, 3300.0, 3600.0], [297.65, 280.1, 280.0, 280.2], 0.1)
    final = final_temperature(fit)

    assert final is not None
    assert final.value == pytest.approx(280.1, abs=0.01)
    assert final.uncertainty == pytest.approx((0.02 / 3) ** 0.5, rel=0.01)


def test_uncertainty_of_the_time_is_rate_for_temperature() -> None:
    """On the last reading's doorstep a thermometer error of u is a time error of u over the rate."""
    fit = fit_pull_down([0.0, 600.0], [300.0, 290.0], 0.3)

    assert time_to(fit, 290.0 - 1e-6).uncertainty == pytest.approx(0.3 / fit.rate, rel=1e-3)


@given(st.floats(-1e6, 1e6))
def test_the_clocks_zero_does_not_matter(shift: float) -> None:
    here, there = (fit_pull_down([time + by for time in TIMES], falling(TIMES), 0.05) for by in (0.0, shift))

    assert there.rate == pytest.approx(here.rate, rel=1e-6)


def test_metal_adds_its_own_heat() -> None:
    """10 kg of stainless steel at 480 J/(kg K) (handbooks, from memory)."""
    contents = {"glycol_volume": 0.038, "density": 1037.0, "specific_heat": 3726.0}
    bare, lined = (bath_heat_capacity(**contents, metal_mass=mass) for mass in (0.0, 10.0))

    assert lined - bare == pytest.approx(4800.0)


def test_power_over_the_time_is_the_heat() -> None:
    fit = fit_pull_down([0.0, 600.0], [300.0, 290.0])
    power = cooling_power(heat_capacity=1.5e5, rate=fit.mean_rate.value)

    assert power * 600.0 == pytest.approx(heat_removed(heat_capacity=1.5e5, start=300.0, end=290.0), rel=1e-6)


@pytest.mark.parametrize("temperature", [400.0, 333.16, 233.14, nan])
def test_bath_outside_its_limits_is_refused(temperature: float) -> None:
    with pytest.raises(OutOfRange, match=r"bath temperature is .* from 233.15 to 333.15 K"):
        fit_pull_down([0.0, 600.0], [300.0, temperature])


@pytest.mark.parametrize("temperature", [333.15, 233.15])
def test_bath_at_its_limits_is_calculated(temperature: float) -> None:
    assert fit_pull_down([0.0, 600.0], [temperature, temperature]).rate == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("times", "temperatures", "message"),
    [
        ([0.0], [300.0], "at least two"),
        ([0.0, 600.0], [300.0], "2 times but 1 temperatures"),
        ([0.0, 600.0, 600.0], [300.0, 299.0, 298.0], "must rise"),
        ([600.0, 0.0], [300.0, 299.0], "must rise"),
        ([0.0, nan], [300.0, 299.0], "time of a reading"),
        ([0.0, 0.5], [300.0, 299.0], "time between first and last"),
        ([0.0, 604801.0], [300.0, 299.0], "time between first and last"),
    ],
)
def test_readings_that_are_no_pull_down_are_refused(
    times: list[float], temperatures: list[float], message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        fit_pull_down(times, temperatures)


@pytest.mark.parametrize("thermometer", [0.0, 5.1, nan])
def test_thermometer_outside_its_limits_is_refused(thermometer: float) -> None:
    with pytest.raises(OutOfRange, match="uncertainty of the thermometer"):
        fit_pull_down([0.0, 600.0], [300.0, 290.0], thermometer)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("glycol_volume", -0.01), ("glycol_volume", nan), ("density", 900.0), ("specific_heat", 500.0),
        ("metal_mass", -1.0), ("metal_specific_heat", 5000.0),
    ],
)  # fmt: skip
def test_bath_contents_outside_their_limits_are_refused(name: str, value: float) -> None:
    contents = {"glycol_volume": 0.038, "density": 1037.0, "specific_heat": 3726.0, "metal_mass": 15.0}

    with pytest.raises(OutOfRange):
        bath_heat_capacity(**(contents | {name: value}))


@pytest.mark.parametrize(("rate", "load"), [(0.11, 0.0), (nan, 0.0), (0.01, -1.0)])
def test_rate_and_load_outside_their_limits_are_refused(rate: float, load: float) -> None:
    with pytest.raises(OutOfRange):
        cooling_power(heat_capacity=1.5e5, rate=rate, load=load)
