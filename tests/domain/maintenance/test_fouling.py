"""The time to heavy fouling from graded findings, against direct integration and simulated units of known truth."""

from itertools import pairwise
from math import exp, log

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from service.domain.maintenance.fouling import Fouling, Outlook, _evidence, _moved, _off, learned, outlook

USUAL = Fouling(median=180.0)
LIGHT, BLOCKED = log(0.45), log(2.0)  # as DEVELOPERS.md states them, like the spreads
LIMITS = {"clean": (None, LIGHT), "light": (LIGHT, 0.0), "heavy": (0.0, BLOCKED), "blocked": (BLOCKED, None)}


def weight(median: float, found, known: Fouling) -> float:
    """The density of a unit's median [ln days], times a constant."""
    each = norm.pdf(median, log(known.median), known.between)
    for after, grade in found:
        low, high = LIMITS[grade]
        off = log(after) - median
        upper = 1.0 if low is None else norm.cdf((off - low) / known.within)
        lower = 0.0 if high is None else norm.cdf((off - high) / known.within)
        each *= upper - lower
    return each


def integral(of, found, known: Fouling) -> float:
    """Of a function of the median over the unit's density."""
    start, end = log(known.median) - 8.0 * known.between, log(known.median) + 8.0 * known.between
    total, _ = quad(lambda m: weight(m, found, known), start, end)
    return quad(lambda m: weight(m, found, known) * of(m), start, end)[0] / total


@pytest.mark.parametrize(
    "found", [(), ((90, "heavy"),), ((90, "clean"), (95, "light")), ((60, "blocked"), (80, "light"))]
)
@pytest.mark.parametrize("days", [30, 90, 200])
def test_the_chance_is_that_of_direct_integration(found, days) -> None:
    heavy = integral(lambda m: norm.cdf((log(days) - m) / USUAL.within), found, USUAL)
    assert outlook(found, USUAL).chance(days) == pytest.approx(heavy, abs=1e-4)


def test_a_unit_without_a_grade_is_judged_by_the_spreads_between_and_within_units() -> None:
    """Two normal spreads, 0.5 and 0.35, add as squares."""
    both = (0.5**2 + 0.35**2) ** 0.5
    for days in (60, 120, 180, 400):
        assert outlook((), USUAL).chance(days) == pytest.approx(norm.cdf(log(days / 180) / both), abs=1e-5)


@pytest.mark.parametrize("found", [((90, "light"), (120, "heavy")), ((70, "blocked"),), ((100, "clean"),)])
def test_one_round_of_learning_is_that_of_direct_integration_with_the_usual_as_five_units(found) -> None:
    usual = Fouling(200.0, between=0.6)
    known = _moved([found], USUAL, usual)
    centre = (integral(lambda m: m, found, USUAL) + 5 * log(200)) / 6
    apart = integral(lambda m: (m - centre) ** 2, found, USUAL)

    assert log(known.median) == pytest.approx(centre, abs=1e-5)
    assert known.between == pytest.approx(((apart + 5 * 0.6**2) / 6) ** 0.5, abs=1e-5)
    assert known.within == USUAL.within


@pytest.mark.parametrize("found", [(), ((90, "light"), (120, "heavy")), ((70, "blocked"),), ((100, "clean"),)])
def test_the_evidence_is_the_likelihood_integrated_over_the_medians(found) -> None:
    start, end = log(USUAL.median) - 8 * USUAL.between, log(USUAL.median) + 8 * USUAL.between
    expected = quad(lambda m: weight(m, found, USUAL), start, end)[0]
    assert _evidence(found, USUAL) == pytest.approx(log(expected), abs=1e-5)


@pytest.mark.parametrize("within", [0.15, 0.25, 0.35, 0.5, 0.7])
def test_the_spread_within_units_is_learned_from_how_well_their_grades_agree(within) -> None:
    """A unit whose times to heavy are the ninths of the log-normal distribution with that spread, by scipy."""
    times = [180.0 * exp(within * norm.ppf((n + 0.5) / 9)) for n in range(9)]
    found = learned([[(days, grade_of(days / each)) for each in times for days in (50, 80, 120, 180, 250, 360)]], USUAL)
    assert (found.within, found.units, found.grades) == (within, 1, 54)


def test_one_grade_leaves_the_usual_spread_within_units() -> None:
    assert learned([[(60, "heavy")]], USUAL).within == 0.35
    assert (USUAL.units, USUAL.grades) == (0, 0)


def test_of_a_large_fleet_the_latest_hundred_and_fifty_units_with_grades_count() -> None:
    early, late = [(90, "blocked")], [(90, "light")]
    assert learned([early, *[late] * 150, []], USUAL) == learned([late] * 150, USUAL)
    assert learned([*[late] * 151], USUAL).units == 150


def test_units_that_are_all_alike_keep_some_spread() -> None:
    alike = learned([[(95, "light"), (105, "heavy")] * 6] * 150, Fouling(100.0, between=0.01))
    assert alike.between == 0.1


def test_the_days_are_those_that_going_through_all_of_them_finds() -> None:
    chance = np.random.default_rng(17)
    ends = set()
    for _ in range(60):
        grades = zip(chance.integers(1, 400, 3).tolist(), chance.choice(list(LIMITS), 3), strict=True)
        median, between, within = chance.uniform(5, 900), chance.uniform(0.1, 1.5), chance.uniform(0.15, 0.7)
        ahead = outlook([(days, str(grade)) for days, grade in grades], Fouling(median, between, within))
        shortest, level = int(chance.integers(1, 60)), float(chance.choice([1e-9, 0.05, 0.15, 0.5, 0.9]))
        longest = shortest + int(chance.integers(0, 300))
        within_level = [days for days in range(shortest, longest + 1) if ahead.chance(days) <= level]
        expected = max(within_level, default=shortest)
        assert ahead.days(level, shortest, longest)[0] == expected
        ends.add("shortest" if expected == shortest else "longest" if expected == longest else "between")
    assert ends == {"shortest", "longest", "between"}


def test_the_interval_ends_where_the_chance_is_reached_and_keeps_its_range() -> None:
    ahead = outlook([(90, "light")], USUAL)
    days = ahead.days(0.15, 14, 365)[0]
    assert ahead.chance(days) <= 0.15 < ahead.chance(days + 1)
    assert ahead.days(0.15, 14, 60)[0] == 60
    assert ahead.days(0.01, 100, 365)[0] == 100


@pytest.mark.parametrize(("median", "found"), [(180.0, (300, "clean")), (600.0, (90, "clean"))])
def test_the_days_are_found_where_the_guesses_are_far_off(median, found) -> None:
    """Medians spread so widely that the time to heavy is far from log-normal once one is known to be long."""
    ahead = outlook([found], Fouling(median, between=3.0, within=0.7))
    days = ahead.days(0.05, 1, 3000)[0]
    assert ahead.chance(days) <= 0.05 < ahead.chance(days + 1)


def test_each_finding_moves_it_in_its_direction() -> None:
    days = [outlook([(90, grade)], USUAL).days(0.15, 14, 365)[0] for grade in ("clean", "light", "heavy", "blocked")]
    assert all(before > after for before, after in pairwise(days))


def simulated(chance, median, count=4):
    own = log(median) + 0.5 * chance.normal()
    shares = [(days, days / exp(own + 0.35 * chance.normal())) for days in chance.integers(60, 130, count)]
    return [(int(days), grade_of(share)) for days, share in shares], own


def grade_of(share):
    return "clean" if share < 0.45 else "light" if share < 1.0 else "heavy" if share < 2.0 else "blocked"


@pytest.mark.parametrize("median", [60.0, 120.0, 250.0])
def test_the_fleet_s_median_is_learned_from_grades_alone(median) -> None:
    chance = np.random.default_rng(1)
    found = learned([simulated(chance, median)[0] for _ in range(60)], USUAL)
    assert found.median == pytest.approx(median, rel=0.2)
    assert (found.units, found.grades) == (60, 240)


@pytest.mark.parametrize("found", [((90, "light"), (120, "heavy")), ((30, "blocked"),)])
def test_what_is_learned_fits_itself_with_the_usual_as_five_units(found) -> None:
    """The fixed point of expectation maximisation, by direct integration."""
    known = learned([found], USUAL)
    centre = (integral(lambda m: m, found, known) + 5 * log(USUAL.median)) / 6
    apart = integral(lambda m: (m - centre) ** 2, found, known)

    assert log(known.median) == pytest.approx(centre, abs=0.01)
    assert known.between == pytest.approx(((apart + 5 * USUAL.between**2) / 6) ** 0.5, abs=0.01)


@pytest.mark.parametrize("chance", [1e-9, 1e-4, 0.02, 0.15, 0.4, 0.496, 0.5, 0.504, 0.6, 0.9, 0.999])
def test_the_guess_is_off_by_what_the_handbook_states(chance: float) -> None:
    """Abramowitz and Stegun 26.2.23: the error is under 4.5e-4; scipy has the quantile itself."""
    assert _off(chance) == pytest.approx(norm.ppf(chance), abs=4.5e-4)


def test_the_days_are_found_by_few_looks(monkeypatch) -> None:
    looks, look = [], Outlook.chance
    monkeypatch.setattr(Outlook, "chance", lambda self, days: looks.append(days) or look(self, days))
    units = [outlook([(days, grade)], USUAL) for days in (30, 90, 150) for grade in LIMITS]

    for each in units:
        each.days(0.15, 14, 365)
    assert len(looks) <= 4 * len(units)


def test_the_stated_chance_is_true() -> None:
    """Of units of known truth, the share that is heavy by the day at which the chance is 20 %."""
    chance = np.random.default_rng(2)
    known = learned([simulated(chance, 120.0)[0] for _ in range(60)], USUAL)
    truths = [simulated(chance, 120.0) for _ in range(300)]
    days = [outlook(found, known).days(0.2, 5, 2000)[0] for found, _ in truths]
    heavy = [norm.cdf((log(each) - own) / 0.35) for each, (_, own) in zip(days, truths, strict=True)]
    assert np.mean(heavy) == pytest.approx(0.2, abs=0.05)


def test_a_unit_without_a_fleet_is_drawn_towards_the_usual() -> None:
    assert learned([], USUAL) == USUAL
    assert USUAL.median * 0.6 < learned([[(60, "heavy")]], USUAL).median < USUAL.median


@pytest.mark.parametrize("median", [60.0, 180.0, 400.0])
@pytest.mark.parametrize("after", [5, 14, 30])
def test_worse_or_more_of_it_never_gives_a_longer_interval(median, after) -> None:
    """Also far from what is usual: a unit beside the fryer, found blocked after days in which others stay clean."""
    intervals = [
        outlook([(after, grade)] * count, Fouling(median=median)).days(0.15, 7, 365)[0]
        for grade, count in (("light", 1), ("heavy", 1), ("blocked", 1), ("blocked", 3))
    ]
    assert intervals == sorted(intervals, reverse=True)
    assert intervals[-1] <= max(after, 14)


def test_grades_that_can_hardly_be_leave_a_number() -> None:
    found = [[(1, "blocked"), (3000, "clean")]] * 3
    known = learned(found, USUAL)
    assert 0.0 <= outlook(found[0], known).chance(90) <= 1.0
