"""Trends of failures of one item against published examples.

Of each value it is said whether it was read in its source, is from memory of it, or was computed elsewhere.
"""

from itertools import accumulate

import pytest

from service.domain.statistics.trend import laplace, military_handbook, reverse_arrangements
from tests.references.recurrence_data import AIRCRAFT, GRAMPUS, HALFBEAK, HANDBOOK, NIST, REPAIRS


def test_the_nist_case_of_reliability_improvement_by_laplace():
    """NIST/SEMATECH 8.2.2.3, T 1500 h: times read; U and its two-sided chance computed elsewhere."""
    found = laplace(NIST, end=1500)

    assert found.statistic == pytest.approx(-1.326949, abs=1e-6)
    assert 2 * found.improving == pytest.approx(0.184525, abs=1e-6)


def test_the_nist_case_by_the_handbook():
    """NIST/SEMATECH 8.2.2.3: times read; chi-square on 20 degrees of freedom computed elsewhere."""
    found = military_handbook(NIST, end=1500)

    assert (found.statistic, found.improving) == pytest.approx((37.2281, 0.010986), abs=1e-4)


def test_the_nist_case_by_reverse_arrangements():
    """NIST/SEMATECH 8.2.2.3, 33 of 45: times and formula read; number and exact chance computed elsewhere."""
    found = reverse_arrangements(NIST)

    assert (found.statistic, found.improving) == pytest.approx((33, 0.03628), abs=1e-5)


@pytest.mark.parametrize(("least", "chance"), [(10, 1 / 120), (9, 5 / 120), (8, 14 / 120), (7, 29 / 120)])
def test_five_gaps_in_random_order(least, chance):
    """Permutations of 5 by inversions, 1 4 9 15 20 22 20 15 9 4 1: OEIS A008302, from memory."""
    gaps = {10: [1, 2, 3, 4, 5], 9: [2, 1, 3, 4, 5], 8: [2, 1, 3, 5, 4], 7: [3, 2, 1, 4, 5]}[least]

    assert reverse_arrangements(list(accumulate(gaps))).improving == pytest.approx(chance, rel=1e-12)


def test_the_handbooks_twenty_seven_failures_improve():
    """MIL-HDBK-189 (1981), appendix C, T 300 h: data read, both statistics computed elsewhere."""
    assert military_handbook(HANDBOOK, end=300).statistic == pytest.approx(75.3833, abs=1e-4)
    assert laplace(HANDBOOK, end=300).statistic == pytest.approx(-2.3180, abs=1e-4)


def test_the_halfbeak_engine_wears_out():
    """U.S.S. Halfbeak, Ascher and Feingold; Meeker and Escobar, chapter 16; T 25.518 kh is its last failure's.

    Data read; chi-square 51 from memory, its digits and U computed elsewhere.
    """
    assert military_handbook(HALFBEAK, end=25518).statistic == pytest.approx(51.443, abs=1e-3)
    assert laplace(HALFBEAK, end=25518).statistic == pytest.approx(7.5960, abs=1e-4)
    assert laplace(HALFBEAK, end=25518).worsening < 1e-12


def test_the_grampus_engine_does_not():
    """U.S.S. Grampus, Lee 1980: data read; chi-square 92 for T 15.07 kh, its last failure's, from memory, its digits
    and U for T 16 kh computed elsewhere.
    """
    assert military_handbook(GRAMPUS, end=15070).statistic == pytest.approx(91.965, abs=1e-3)
    assert laplace(GRAMPUS, end=16000).statistic == pytest.approx(0.39738, abs=1e-5)


def test_the_air_conditioning_of_aircraft_7912_worsens():
    """Proschan 1963, watched until the last: gaps as in scipy's own tests, read; statistics computed elsewhere."""
    ages = list(accumulate(AIRCRAFT["7912"]))

    assert laplace(ages, end=None).statistic == pytest.approx(2.2065, abs=1e-4)
    assert 2 * laplace(ages, end=None).worsening == pytest.approx(0.0274, abs=1e-4)
    assert military_handbook(ages, end=None).statistic == pytest.approx(39.843, abs=1e-3)
    assert military_handbook(ages, end=None).worsening == pytest.approx(0.0329, abs=1e-4)


def test_thirty_gaps_between_repairs_shorten():
    """The example of a rate of occurrence in the documents of the open library "reliability": gaps and U 2.409 read,
    further digits computed elsewhere; watched until the last.
    """
    assert laplace(list(accumulate(REPAIRS)), end=None).statistic == pytest.approx(2.40944, abs=1e-5)
