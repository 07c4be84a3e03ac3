"""Counts, periods and clusters against published examples; each value read, from memory or computed."""

import numpy as np
import pytest
from scipy.stats import nbinom

from service.domain.statistics.discoveries import adjusted
from service.domain.statistics.rates import (
    chance_of,
    first_period_chance,
    rate_interval,
    two_periods,
    varied_chance_of,
)
from service.domain.statistics.scan import scan_probability, varied_scan_probability
from tests.references.recurrence_data import AIRCRAFT

FAILURES = [len(gaps) for gaps in AIRCRAFT.values()]
HOURS = [sum(gaps) / 1000 for gaps in AIRCRAFT.values()]  # thousands


def test_two_rates():
    """R's poisson.test, 11 in 800 against 21 in 3011: p .07967, from memory."""
    assert two_periods(11, 21, first_time=800, second_time=3011) == pytest.approx(0.07967, abs=5e-6)


def test_the_exact_interval_of_a_rate():
    """R's poisson.test, 137 events against 24.19893: 4.753125 to 6.692709, from memory."""
    assert rate_interval(137, exposure=24.19893) == pytest.approx((4.753125, 6.692709), abs=1e-6)


def test_sixty_against_thirty_events():
    """Gu et al. 2008, 60 in 51477.5 against 30 in 54308.7: data read, the exact one-sided chance computed elsewhere."""
    assert first_period_chance(60, 90, share=51477.5 / (51477.5 + 54308.7)) == pytest.approx(0.000428, abs=5e-7)


@pytest.mark.parametrize(
    ("count", "expected", "shape"), [(1, 0.2, 4.0), (3, 0.6, 1.5), (10, 3.4, 11.0), (40, 20.0, 0.5)]
)
def test_counts_where_units_differ(count, expected, shape):
    """The tail of scipy's negative binomial of the same mean and size."""
    found = varied_chance_of(count, expected=expected, shape=shape)

    assert found == pytest.approx(nbinom.sf(count - 1, shape, shape / (shape + expected)), rel=1e-9)


@pytest.mark.parametrize(
    ("first", "total", "share", "chance"),
    [(4, 4, 0.6, 0.130), (3, 3, 0.2, 0.0080), (2, 3, 0.2, 0.104), (3, 4, 0.2, 0.0272)],
)
def test_failures_in_a_part_of_the_time(first, total, share, chance):
    """Computed elsewhere from the exact binomial: before and after a remedy, and exposed for a fifth of the time."""
    assert first_period_chance(first, total, share=share) == pytest.approx(chance, abs=5e-4)


def test_a_cluster_anywhere_is_likelier_than_in_a_window_fixed_before():
    """Computed elsewhere: 3 in any 14 months of 36 at 0.2 a year is 1 in 107 to 110; fixed beforehand 1 in 562."""
    assert 107 <= 1 / scan_probability(3, rate=0.2, window=14 / 12, watched=3.0) <= 110
    assert 1 / chance_of(3, expected=0.2 * 14 / 12) == pytest.approx(562, abs=0.5)


def test_a_cluster_where_units_differ():
    """Computed elsewhere by Monte Carlo: with a spread of CV 0.5 the same is 1 in 71."""
    found = varied_scan_probability(3, rate=0.2, window=14 / 12, watched=3.0, shape=4.0)

    assert 1 / found == pytest.approx(71, abs=1)


@pytest.mark.parametrize(
    ("count", "rate", "window", "watched"),
    [
        (2, 0.2, 1, 3),
        (3, 0.2, 14 / 12, 3),
        (3, 0.5, 1, 3),
        (4, 0.5, 0.5, 5),
        (5, 1, 1, 4),
        (2, 1, 0.1, 5),
        (3, 1, 1, 2),
        (5, 3, 1, 3),
        (6, 4, 1, 5),
    ],
)
def test_clusters_against_made_records(count, rate, window, watched):
    """A Monte Carlo of 400 000 records, seed fixed; Naus 1982 is exact at two and three windows."""
    made, error = clusters(count, rate, window, watched)

    assert scan_probability(count, rate=rate, window=window, watched=watched) == pytest.approx(
        made, abs=0.01 * made + 2.5 * error
    )


@pytest.mark.parametrize(
    ("count", "rate", "window", "watched"),
    [(2, 0.2, 2, 3), (3, 0.2, 2, 3), (4, 0.5, 2.5, 3), (6, 2, 2, 3), (3, 0.5, 3, 3), (3, 0.5, 5, 3)],
)
def test_clusters_in_records_shorter_than_two_windows(count, rate, window, watched):
    """A Monte Carlo of 400 000 records, seed fixed; a window longer than the record is the record."""
    made, error = clusters(count, rate, window, watched)

    assert scan_probability(count, rate=rate, window=window, watched=watched) == pytest.approx(
        made, abs=0.05 * made + 2.5 * error
    )


@pytest.mark.parametrize("shape", [0.3, 1.5, 4.0, 20.0])
def test_clusters_where_made_units_differ(shape):
    made, error = clusters(3, 0.2, 14 / 12, 3.0, shape)

    found = varied_scan_probability(3, rate=0.2, window=14 / 12, watched=3.0, shape=shape)
    assert found == pytest.approx(made, abs=0.02 * made + 2.5 * error)


def clusters(count, rate, window, watched, shape=None, records=400_000):
    """The share of records with a cluster, and its standard error."""
    rng, hits = np.random.default_rng(1982), 0
    factors = 1.0 if shape is None else rng.gamma(shape, 1 / shape, records)
    numbers = rng.poisson(rate * watched * factors, records)
    for number in range(count, numbers.max() + 1):
        times = np.sort(rng.random((int((numbers == number).sum()), number)) * watched, axis=1)
        hits += int(((times[:, count - 1 :] - times[:, : number - count + 1]) <= window).any(axis=1).sum())
    share = hits / records
    return share, (share * (1 - share) / records) ** 0.5


def test_no_aircraft_stands_alone_though_their_rates_differ():
    """Proschan 1963: data read; the least chance .0065, after adjustment .091, computed elsewhere."""
    rate = sum(FAILURES) / sum(HOURS)
    chances = [chance_of(n, expected=rate * e) for n, e in zip(FAILURES, HOURS, strict=True)]

    assert min(chances) == pytest.approx(0.0065, abs=5e-5)
    assert min(adjusted(chances)) == pytest.approx(0.091, abs=5e-4)


def test_fifteen_comparisons_of_which_four_stand():
    """Benjamini and Hochberg 1995, their example: chances and adjusted chances read; 4 stand at 5 %."""
    chances = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528,
               0.7590, 1.0]  # fmt: skip
    expected = [0.0015, 0.003, 0.0095, 0.035625, 0.0603, 0.063857, 0.063857, 0.0645, 0.0765, 0.486, 0.581182, 0.714875,
            0.753231, 0.813214, 1.0]  # fmt: skip

    assert adjusted(chances) == pytest.approx(expected, abs=1e-6)
    assert sum(each <= 0.05 for each in adjusted(chances)) == 4
