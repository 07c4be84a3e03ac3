"""Chances of running short, against SciPy and against simulated days.

Reference: scipy.stats, and a simulation in this file with rates that the estimate does not know.
"""

import math
import random

import pytest
from scipy import stats

from service.domain.condition.parts import Seen
from service.domain.vans.demand import (
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
    assert reference.sf(len(chances) - 1) < 1e-9 < reference.sf(len(chances) - 2)  # what is left out is negligible


def test_with_much_experience_it_is_poisson() -> None:
    chances = needed_of([(Seen(100_000, 2_000), Seen(100_000, 2_000), 10)], Seen(100_000, 2_000))

    assert chances[:4] == pytest.approx(stats.poisson(0.2).pmf(range(4)), abs=1e-3)


def test_of_a_kind_never_visited_half_a_part_a_visit_is_expected() -> None:
    """By hand: mean .5 / 1, prior 20 visits, so that the gamma has shape 10 and rate 20."""
    chances = needed_of([(Seen(), Seen(), 1)], Seen())

    assert chances[:4] == pytest.approx(stats.nbinom(10, 20 / 21).pmf(range(4)))


def test_a_chance_of_running_short_lies_between_none_and_certainty() -> None:
    assert chance_short([1.0], 5) == 0.0
    assert chance_short([0.5, 0.5 + 1e-9], 1) == 0.0  # rounded up in all
    assert chance_short([0.5, 0.5], -1) == 1.0
    assert [chance_short([0.5, 0.25, 0.25], stock) for stock in range(4)] == [0.5, 0.25, 0.0, 0.0]


def test_sums_end_where_nothing_worth_naming_is_left() -> None:
    assert convolved([1.0], [1.0, 1e-12, 1e-12]) == [1.0]
    assert convolved([1e-12], [1.0]) == [1e-12]
    assert [len(convolved([1.0], [1.0, each])) for each in (1e-9, 0.995e-9)] == [2, 1]


def test_amounts_of_equal_chance_are_counted_in_steps() -> None:
    assert volumes([0.0, 0.1e-3, 0.05e-3, 0.11e-3]) == [0.25, 0.5, 0.25]
    assert volumes([-0.25e-3, 0.1e-3]) == [0.5, 0.5]
    assert volumes([]) == [0.0]


def test_what_is_brought_suffices_at_the_chance_asked_for() -> None:
    chances = needed_of([(Seen(100_000, 10_000), Seen(100_000, 10_000), 10)], Seen(100_000, 10_000))

    assert enough(chances, 0.05) == int(stats.poisson(1.0).ppf(0.95))
    assert [enough([0.5, 0.25, 0.25], chance) for chance in (0.5, 0.495, 0.25, 0.0)] == [0, 1, 1, 2]
    assert enough([0.5, 0.25], 0.1) == 2  # more than all that is known of


def test_on_simulated_days_the_stated_chance_is_true_within_a_twentieth() -> None:
    """Three ages of two models, of which one fails three times as often; in five parts by what is stated.

    What is stated is compared with the chance that the true rates give, not with a draw by them: that leaves the luck
    of the days out, which alone would move a part by up to .05 from seed to seed.
    """
    rng = random.Random(20260609)
    stated: list[tuple[float, float]] = []
    for _ in range(1000):
        ages = [rng.gammavariate(2.0, 0.02) for _ in range(3)]  # not known to the estimate
        rates = [rate * factor for rate in ages for factor in (0.5, 1.5)]
        seen = [Seen(n, _binomial(rng, n, each)) for n, each in zip((40, 20, 80, 40, 150, 100), rates, strict=True)]
        like = [seen[n - n % 2] + seen[n - n % 2 + 1] for n in range(6)]
        coming = [rng.randrange(5) for _ in range(6)]
        chances = needed_of(zip(seen, like, coming, strict=True), sum(seen, Seen()))
        stated += [(chance_short(chances, stock), short) for stock, short in enumerate(_short(rates, coming))]

    stated.sort()
    for n in range(5):
        part = stated[n * len(stated) // 5 : (n + 1) * len(stated) // 5]
        mean, true = (sum(column) / len(part) for column in zip(*part, strict=True))
        assert mean == pytest.approx(true, abs=0.05)


def _short(rates: list[float], coming: list[int]) -> tuple[float, float]:
    """The chances that more than none, and more than one, of the parts at these units is needed."""
    none = math.prod((1 - rate) ** n for rate, n in zip(rates, coming, strict=True))
    one = none * sum(n * rate / (1 - rate) for rate, n in zip(rates, coming, strict=True))
    return 1 - none, 1 - none - one


def test_a_model_that_fails_often_is_expected_to() -> None:
    """By hand, prior 20: the other models 5 of 480, mean (20 x .02098 + 5) / 500; the model itself 5 of 20."""
    whole, own = Seen(500, 10), Seen(20, 5)
    usual = (20 * 10.5 / 501 + 5) / 500
    expected = (20 * usual + 5) / 40

    assert 1 - chance_short(needed_of([(own, whole, 1)], whole), 0) == pytest.approx(
        stats.nbinom(20 * usual + 5, 40 / 41).pmf(0)
    )
    assert expected == pytest.approx(0.13, abs=0.002)


def _binomial(rng: random.Random, visits: int, rate: float) -> int:
    return sum(rng.random() < rate for _ in range(visits))


def test_strengths_around_the_latest_have_its_mean_and_spread() -> None:
    found = strengths_around(0.30)

    assert sum(found) / len(found) == pytest.approx(0.30)
    assert max(found) - min(found) == pytest.approx(2 * 0.015 * stats.norm.ppf(1 - 0.5 / 9))


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
