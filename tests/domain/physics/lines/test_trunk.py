"""The parts of a trunk, and its steady temperatures against an independent numerical solution."""

from math import exp, nan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import simpson, solve_bvp  # type: ignore[import-untyped]

from service.domain.physics.lines.trunk import (
    BeerFlow,
    Bundle,
    GlycolFlow,
    Run,
    line_heat_capacity,
    total_length,
    tube_conductance,
)
from service.domain.physics.lines.trunk_profile import Profile, trunk_profile
from service.domain.physics.ranges import OutOfRange

COOLER, GROUND, BAR = Run(6.0, 276.0, 3.0), Run(30.0, 289.0, 2.5), Run(9.0, 297.0, 3.4)
RUNS = (COOLER, GROUND, BAR)
BUNDLE = Bundle(0.9, 5.0)
GLYCOL = GlycolFlow(supply=271.0, capacity_rate=203.0, tower_heat=100.0)
BEER = BeerFlow(inlet=276.0, capacity_rate=20.0)

lengths = st.floats(1.0, 60.0)
rates = st.floats(50.0, 500.0)


def loop_rise(profile: Profile) -> float:
    return profile.back[0] - profile.supply[0]


def core_balance(run: Run, supply: float, back: float, beer: float) -> float:
    g, b, a = BUNDLE.glycol_conductance, BUNDLE.beer_conductance, 1 / run.resistance
    return (g * (supply + back) + b * beer + a * run.surroundings) / (2 * g + b + a)


def collocated(run: Run) -> object:
    """One run's profile by SciPy's collocation for boundary value problems."""

    def slopes(_: object, y: np.ndarray) -> np.ndarray:
        core = core_balance(run, y[0], y[1], y[2])
        g, c = BUNDLE.glycol_conductance, GLYCOL.capacity_rate
        beer = BUNDLE.beer_conductance / BEER.capacity_rate * (core - y[2])
        return np.array([g / c * (core - y[0]), -g / c * (core - y[1]), beer])

    def ends(left: np.ndarray, right: np.ndarray) -> np.ndarray:
        turn = right[1] - right[0] - GLYCOL.tower_heat / GLYCOL.capacity_rate
        return np.array([left[0] - GLYCOL.supply, turn, left[2] - BEER.inlet])

    mesh = np.linspace(0.0, run.length, 200)
    return solve_bvp(slopes, ends, mesh, np.full((3, 200), 275.0), tol=1e-10, max_nodes=100_000)


def test_profile_is_that_of_a_fine_numerical_solution() -> None:
    profile = trunk_profile([GROUND], BUNDLE, glycol=GLYCOL, beer=BEER, steps=30)
    fine = collocated(GROUND).sol(np.array(profile.position))  # type: ignore[attr-defined]

    for ours, theirs in zip((profile.supply, profile.back, profile.beer), fine, strict=True):
        assert np.max(np.abs(np.array(ours) - theirs)) < 1e-6


def gained(profile: Profile, steps: int) -> float:
    """Heat through the insulation, added up place by place along three runs."""
    total = 0.0
    for number, run in enumerate(RUNS):
        x = np.array(profile.position[number * steps : (number + 1) * steps + 1])
        state = zip(profile.supply, profile.back, profile.beer, strict=True)
        core = np.array([core_balance(run, *y) for y in list(state)[number * steps : (number + 1) * steps + 1]])
        total += float(simpson((run.surroundings - core) / run.resistance, x=x))
    return total


def test_heat_through_the_insulation_is_what_the_liquids_gain() -> None:
    profile = trunk_profile(RUNS, BUNDLE, glycol=GLYCOL, beer=BEER, steps=400)

    assert gained(profile, 400) == pytest.approx(profile.heat, rel=1e-6)


def test_liquids_gain_is_given_by_stream() -> None:
    profile = trunk_profile(RUNS, BUNDLE, glycol=GLYCOL, beer=BEER)
    glycol = GLYCOL.capacity_rate * loop_rise(profile) - GLYCOL.tower_heat
    beer = BEER.capacity_rate * (profile.beer[-1] - profile.beer[0])

    assert glycol + beer == pytest.approx(profile.heat, rel=1e-9)


@given(st.integers(1, 40))
@settings(max_examples=20, deadline=None)
def test_solution_does_not_depend_on_the_places_shown(steps: int) -> None:
    coarse = trunk_profile(RUNS, BUNDLE, glycol=GLYCOL, beer=BEER, steps=steps)
    fine = trunk_profile(RUNS, BUNDLE, glycol=GLYCOL, beer=BEER, steps=50)

    assert coarse.beer[-1] == pytest.approx(fine.beer[-1], abs=1e-9)
    assert loop_rise(coarse) == pytest.approx(loop_rise(fine), abs=1e-9)


@given(lengths, st.floats(0.1, 0.9))
@settings(max_examples=30, deadline=None)
def test_a_run_cut_in_two_is_the_same_run(length: float, share: float) -> None:
    whole = trunk_profile([Run(length, 290.0, 3.0)], BUNDLE, glycol=GLYCOL, beer=None)
    parts = [Run(length * share, 290.0, 3.0), Run(length * (1 - share), 290.0, 3.0)]

    halves = trunk_profile(parts, BUNDLE, glycol=GLYCOL, beer=None)
    assert halves.beer[-1] == pytest.approx(whole.beer[-1], abs=1e-9)


@given(lengths, rates)
@settings(max_examples=40, deadline=None)
def test_more_glycol_means_colder_standing_beer(length: float, rate: float) -> None:
    runs = [Run(length, 290.0, 3.0)]
    less = trunk_profile(runs, BUNDLE, glycol=GlycolFlow(271.0, rate), beer=None)
    more = trunk_profile(runs, BUNDLE, glycol=GlycolFlow(271.0, rate * 1.5), beer=None)

    assert more.beer[-1] < less.beer[-1]
    assert loop_rise(more) < loop_rise(less)


def test_trunk_in_surroundings_of_its_glycol_stays_there() -> None:
    runs = [Run(30.0, 271.0, 3.0)]
    profile = trunk_profile(runs, BUNDLE, glycol=GlycolFlow(271.0, 200.0), beer=BeerFlow(271.0, 20.0))

    assert set(np.round([*profile.supply, *profile.back, *profile.beer, *profile.core], 9)) == {271.0}
    assert profile.heat == pytest.approx(0.0, abs=1e-9)


@given(st.floats(0.5, 200.0), lengths)
def test_beer_flowing_without_glycol_warms_as_one_stream_does(rate: float, length: float) -> None:
    profile = trunk_profile([Run(length, 290.0, 3.0)], BUNDLE, glycol=None, beer=BeerFlow(276.0, rate))
    resistance = 3.0 + 1 / BUNDLE.beer_conductance

    expected = 290.0 - 14.0 * exp(-length / (resistance * rate))
    assert profile.beer[-1] == pytest.approx(expected, abs=1e-8)


def test_beer_standing_without_glycol_ends_at_its_surroundings() -> None:
    profile = trunk_profile(RUNS, BUNDLE, glycol=None, beer=None)

    assert (profile.beer[1], profile.beer[-1], profile.heat) == (pytest.approx(276.0), pytest.approx(297.0), 0.0)


def test_plenty_of_glycol_makes_the_star_of_resistances() -> None:
    """At infinite flow the core lies between ambient and two glycol tubes by their conductances alone."""
    profile = trunk_profile([GROUND], BUNDLE, glycol=GlycolFlow(271.0, 1e4), beer=None)
    gap = (289.0 - 271.0) / 2.5 / (2 * 0.9 + 1 / 2.5)

    assert profile.beer[0] == pytest.approx(271.0 + gap, abs=0.01)


def test_tower_heat_alone_warms_the_return() -> None:
    well_kept = Run(1.0, 271.0, 1000.0)
    profile = trunk_profile([well_kept], Bundle(1e-3, 1.0), glycol=GlycolFlow(271.0, 100.0, 200.0), beer=None)

    assert loop_rise(profile) == pytest.approx(2.0, rel=1e-4)


def test_glycol_that_hardly_flows_is_refused() -> None:
    with pytest.raises(OutOfRange, match="glycol transfer units"):
        trunk_profile(RUNS, BUNDLE, glycol=GlycolFlow(271.0, 1.0), beer=None)


@pytest.mark.parametrize(
    ("length", "surroundings", "resistance", "name"),
    [
        (-1.0, 289.0, 3.0, "length of a run"),
        (501.0, 289.0, 3.0, "length of a run"),
        (nan, 289.0, 3.0, "length of a run"),
        (30.0, 400.0, 3.0, "surroundings temperature"),
        (30.0, 289.0, 0.0, "thermal resistance"),
    ],
)
def test_run_outside_its_limits_is_refused(length: float, surroundings: float, resistance: float, name: str) -> None:
    with pytest.raises(OutOfRange, match=name):
        Run(length, surroundings, resistance)


@pytest.mark.parametrize("length", [0.0, 0.09])
def test_trunk_without_length_is_refused(length: float) -> None:
    with pytest.raises(OutOfRange, match="length of the trunk"):
        total_length([Run(length, 289.0, 3.0)])


def test_bath_of_400_k_is_refused() -> None:
    with pytest.raises(OutOfRange, match="400 K"):
        GlycolFlow(400.0, 200.0)


@pytest.mark.parametrize("rate", [0.0, 0.009, 1.1e4, nan])
def test_flow_outside_its_limits_is_refused(rate: float) -> None:
    with pytest.raises(OutOfRange, match="heat capacity rate"):
        BeerFlow(276.0, rate)


@pytest.mark.parametrize("steps", [0, 10_001])
def test_number_of_places_outside_its_limits_is_refused(steps: int) -> None:
    with pytest.raises(OutOfRange, match="steps in a run"):
        trunk_profile(RUNS, BUNDLE, glycol=GLYCOL, beer=None, steps=steps)


@pytest.mark.parametrize("contact", [0.04, 1.01, nan])
def test_contact_outside_its_limits_is_refused(contact: float) -> None:
    with pytest.raises(OutOfRange, match="share of the girth"):
        tube_conductance(bore=0.01, wall=0.001, wall_conductivity=0.4, fluid_conductivity=0.5, contact=contact)


@given(st.floats(3.66, 500.0))
def test_livelier_flow_conducts_better(nusselt: float) -> None:
    parts = {"bore": 0.01, "wall": 0.0015, "wall_conductivity": 0.4, "fluid_conductivity": 0.41}

    assert tube_conductance(**parts, nusselt=nusselt * 1.1) > tube_conductance(**parts, nusselt=nusselt)


@pytest.mark.parametrize("bore", [9e-4, 0.11, nan])
def test_bore_outside_its_limits_is_refused(bore: float) -> None:
    with pytest.raises(OutOfRange, match="bore"):
        line_heat_capacity(bore=bore, density=1010.0, specific_heat=3850.0)
