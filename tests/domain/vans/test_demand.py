"""Chances of running short, against SciPy and against simulated days.

Reference: scipy.stats, and a simulation in this file with rates that the estimate does not know.
"""

import random

import pytest
from scipy import stats

from service.domain.vans.demand import (
    STRENGTH_SPREAD,
    Seen,
    chance_short,
    convolved,
    enough,
    needed_of,
    negative_binomial,
    strengths_around,
    volumes,
)


@pytest.mark.parametrize(("shape", "rate", "coming"), [(0.5, 3.0, 2.0), (4.0, 40.0, 9.0), (30.0, 200.0, 25.0)])
def test_the_numbers_are_those_of_scipy(shape: float, rate: float, coming: float) -> None:
    chances = negative_binomial(shape, rate, coming)
    reference = stats.nbinom(shape, rate / (rate + coming))

    assert chances == pytest.approx([reference.pmf(n) for n in range(len(chances))], abs=1e-12)
    assert chance_short(chances, 2) == pytest.approx(reference.sf(2), abs=1e-8)


def test_with_much_experience_it_is_poisson() -> None:
    chances = needed_of([(Seen(100_000, 2_000), 10)], Seen(100_000, 2_000))

    assert chances[:4] == pytest.approx(stats.poisson(0.2).pmf(range(4)), abs=1e-3)


def test_what_is_brought_suffices_at_the_chance_asked_for() -> None:
    chances = needed_of([(Seen(100_000, 10_000), 10)], Seen(100_000, 10_000))

    assert enough(chances, 0.05) == int(stats.poisson(1.0).ppf(0.95))


def test_on_simulated_days_the_stated_chance_is_true_within_a_twentieth() -> None:
    rng = random.Random(20260609)
    stated: dict[int, list[float]] = {0: [], 1: []}
    short: dict[int, int] = {0: 0, 1: 0}
    days = 1500
    for _ in range(days):
        rates = [rng.gammavariate(2.0, 0.02) for _ in range(3)]  # of three ages, not known to the estimate
        seen = [Seen(visits, _binomial(rng, visits, rate)) for visits, rate in zip((60, 120, 250), rates, strict=True)]
        whole = Seen(sum(each.visits for each in seen), sum(each.replaced for each in seen))
        chances = needed_of(zip(seen, (3, 4, 5), strict=True), whole)
        needed = sum(_binomial(rng, n, rate) for n, rate in zip((3, 4, 5), rates, strict=True))
        for stock, found in stated.items():
            found.append(chance_short(chances, stock))
            short[stock] += needed > stock

    for stock, chances in stated.items():
        assert short[stock] / days == pytest.approx(sum(chances) / days, abs=0.05)
        bold = [n for n, chance in enumerate(chances) if chance > sum(chances) / days]
        assert len(bold) > 100


def _binomial(rng: random.Random, visits: int, rate: float) -> int:
    return sum(rng.random() < rate for _ in range(visits))


def test_strengths_around_the_latest_have_its_mean_and_spread() -> None:
    found = strengths_around(0.30)

    assert sum(found) / len(found) == pytest.approx(0.30)
    assert max(found) - min(found) == pytest.approx(2 * STRENGTH_SPREAD * stats.norm.ppf(1 - 0.5 / 9))


def test_sums_have_the_chances_of_both() -> None:
    both = convolved(stats.poisson(1.0).pmf(range(30)), stats.poisson(2.0).pmf(range(30)))

    assert both[:6] == pytest.approx(stats.poisson(3.0).pmf(range(6)), abs=1e-9)


def test_steps_of_volume_are_not_one_too_many() -> None:
    assert [len(volumes([count * 0.5e-3])) - 1 for count in range(1, 41)] == [5 * count for count in range(1, 41)]


class Counted(float):
    """A chance that counts how often it is added to."""

    added = 0

    def __radd__(self, other: float) -> float:
        Counted.added += 1
        return other + float(self)


def test_what_is_brought_is_found_in_one_pass() -> None:
    chances = [Counted(0.001)] * 1000
    assert enough(chances, 0.05) == pytest.approx(949, abs=1)
    assert Counted.added <= 1000
