"""Glasses after a standstill, against Schumann's analytic solution and the balance of heat."""

from dataclasses import replace
from itertools import pairwise
from math import exp, nan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad  # type: ignore[import-untyped]
from scipy.special import ive  # type: ignore[import-untyped]

from service.domain.physics.lines.trunk import Bundle, GlycolFlow, Run
from service.domain.physics.lines.trunk_pour import Glasses, Line, Poured, pour_after_standstill
from service.domain.physics.lines.trunk_profile import Profile, trunk_profile
from service.domain.physics.ranges import OutOfRange

PINT, RATE = 4.73e-4, 5.9e-5
GROUND, BAR = Run(30.0, 289.0, 2.5), Run(9.0, 297.0, 3.4)
BUNDLE = Bundle(0.9, 5.0)
LINE = Line(bore=0.009525, conductance=1.0, rest_heat_capacity=1500.0, keg=275.0, start=276.0)
TEN = Glasses(count=10, volume=PINT, flow=RATE, pause=20.0)
COLD = trunk_profile([GROUND, BAR], BUNDLE, glycol=GlycolFlow(271.0, 203.0), beer=None)
NIGHT = 43200.0


def pour(*, standstill: float = NIGHT, glycol: Profile | None = COLD, glasses: Glasses = TEN) -> Poured:
    return pour_after_standstill([GROUND, BAR], BUNDLE, LINE, glasses=glasses, standstill=standstill, glycol=glycol)


def schumann(x: float, y: float) -> float:
    """J(x, y) = 1 - int_0^x exp(-y - s) I0(2 sqrt(y s)) ds: how far the fluid has come behind a step."""
    value, _ = quad(lambda s: ive(0, 2 * np.sqrt(y * s)) * exp(-((np.sqrt(y) - np.sqrt(s)) ** 2)), 0.0, x)
    return float(1.0 - value)


def test_pour_without_losses_is_schumanns_solution() -> None:
    """T. E. W. Schumann, J. Franklin Institute 208 (1929): fluid through a warm mass, both at one temperature first."""
    sealed = Run(40.0, 288.0, 1000.0)  # so little gets in that 0.03 K covers it
    sips = Glasses(count=300, volume=2e-5, flow=RATE)
    line = replace(LINE, start=288.0)
    poured = pour_after_standstill([sealed], BUNDLE, line, glasses=sips, standstill=0.0, glycol=None)
    units = line.conductance * 40.0 / (line.heat_capacity * RATE / line.area)

    for number in (160, 200, 250, 299):
        after = (number + 0.5) * 2e-5 / RATE - 40.0 * line.area / RATE
        arrived = schumann(units, line.conductance * after / line.rest_heat_capacity)
        assert poured.glasses[number] == pytest.approx(288.0 + (line.keg - 288.0) * arrived, abs=0.05)


def test_bundle_that_hardly_warms_heats_beer_as_a_wall_of_one_temperature() -> None:
    """The tenth glass out of an endless mass: T = T_m + (T_keg - T_m) exp(-G L / C)."""
    line = Line(bore=0.009525, conductance=1.0, rest_heat_capacity=1e5, keg=275.0, start=288.0)
    poured = pour_after_standstill(
        [Run(30.0, 288.0, 1.0)], BUNDLE, line, glasses=replace(TEN, pause=0.0), standstill=0.0, glycol=None
    )
    units = 30.0 / (line.heat_capacity * RATE / line.area)

    assert poured.glasses[9] == pytest.approx(288.0 - 13.0 * exp(-units), abs=0.05)


@pytest.mark.parametrize("glycol", [COLD, None])
def test_heat_taken_is_held_or_poured(glycol: Profile | None) -> None:
    poured = pour(glycol=glycol)

    assert poured.heat_taken == pytest.approx(poured.heat_held + poured.heat_poured, rel=1e-6)


def test_first_glass_after_a_night_without_glycol_is_the_bars_air() -> None:
    assert pour(glycol=None).glasses[0] == pytest.approx(297.0, abs=0.6)


def test_line_after_a_night_with_glycol_is_the_steady_core() -> None:
    places = (np.arange(120) + 0.5) * 39.0 / 120
    steady = np.interp(places, COLD.position, COLD.core)

    interior = np.abs(places - 30.0) > 0.6  # the core jumps where the surroundings change
    assert np.max(np.abs(np.array(pour().standing) - steady)[interior]) < 2e-3


def test_without_standstill_the_first_glass_is_the_line_as_it_was_left() -> None:
    poured = pour(standstill=0.0, glasses=Glasses(count=1, volume=1e-5, flow=1e-3))

    assert poured.glasses[0] == pytest.approx(LINE.start, abs=0.01)


def test_later_glasses_are_colder_where_the_line_stood_warm() -> None:
    glasses = pour(glycol=None).glasses

    assert all(later <= earlier + 1e-9 for earlier, later in pairwise(glasses))


@given(st.floats(0.0, 1e5), st.floats(60.0, 1e4))
@settings(max_examples=15, deadline=None)
def test_a_longer_standstill_without_glycol_never_pours_colder(standstill: float, longer: float) -> None:
    short, long = (
        pour(standstill=seconds, glycol=None, glasses=Glasses(3, PINT, RATE))
        for seconds in (standstill, standstill + longer)
    )

    assert all(later >= earlier - 1e-9 for earlier, later in zip(short.glasses, long.glasses, strict=True))


@given(st.floats(1e-5, 2e-4), st.floats(0.0, NIGHT))
@settings(max_examples=15, deadline=None)
def test_no_glass_is_warmer_than_all_or_colder_than_all(flow: float, standstill: float) -> None:
    poured = pour(standstill=standstill, glasses=Glasses(6, PINT, flow))

    assert all(271.0 < glass < 297.0 for glass in poured.glasses)


def test_where_everything_is_one_temperature_it_stays() -> None:
    line = Line(bore=0.008, conductance=1.0, rest_heat_capacity=900.0, keg=280.0, start=280.0)
    poured = pour_after_standstill([Run(20.0, 280.0, 3.0)], BUNDLE, line, glasses=TEN, standstill=NIGHT, glycol=None)

    assert poured.glasses == pytest.approx([280.0] * 10, abs=1e-9)


def test_glasses_are_poured_from_whole_volumes() -> None:
    """Two half pints mix to the pint."""
    halves = pour(glasses=Glasses(2, PINT / 2, RATE)).glasses
    whole = pour(glasses=Glasses(1, PINT, RATE)).glasses

    assert sum(halves) / 2 == pytest.approx(whole[0], abs=1e-9)


@pytest.mark.parametrize(
    ("count", "volume", "flow", "pause", "name"),
    [
        (0, PINT, RATE, 0.0, "number of glasses"),
        (1001, PINT, RATE, 0.0, "number of glasses"),
        (1, 0.0, RATE, 0.0, "volume of a glass"),
        (1, nan, RATE, 0.0, "volume of a glass"),
        (1, PINT, 0.0, 0.0, "pour rate"),
        (1, PINT, RATE, -1.0, "pause"),
    ],
)
def test_glasses_outside_their_limits_are_refused(
    count: int, volume: float, flow: float, pause: float, name: str
) -> None:
    with pytest.raises(OutOfRange, match=name):
        Glasses(count, volume, flow, pause)


@pytest.mark.parametrize(("keg", "start"), [(400.0, 276.0), (275.0, nan), (200.0, 276.0)])
def test_beer_outside_its_limits_is_refused(keg: float, start: float) -> None:
    with pytest.raises(OutOfRange):
        Line(bore=0.0095, conductance=1.0, rest_heat_capacity=1500.0, keg=keg, start=start)


@pytest.mark.parametrize("standstill", [-1.0, 1.1e7, nan])
def test_standstill_outside_its_limits_is_refused(standstill: float) -> None:
    with pytest.raises(OutOfRange, match="time"):
        pour(standstill=standstill)


def test_pouring_the_line_over_200_times_is_refused() -> None:
    with pytest.raises(OutOfRange, match="fillings of the line"):
        pour(glasses=Glasses(1000, PINT * 4, RATE))
