"""Litres of concentrate: the stated chance of running short, against simulated days of three baths.

The simulation draws the strength found about the last one on record, and mixes by the plain balance of equal densities.
"""

import random
from types import SimpleNamespace

import pytest

from service.domain.vans import needs
from service.domain.vans.demand import STEP, STRENGTH_SPREAD, chance_short, convolved, strengths_around, volumes

TARGET = 0.35
BATHS = ((0.038, 0.33), (0.057, 0.35), (0.076, 0.30))  # volume [m3], strength on record [kg/kg]


def test_on_simulated_days_the_stated_chance_is_true_within_a_twentieth() -> None:
    chances = [1.0]
    for volume, latest in BATHS:
        chances = convolved(chances, volumes([needs._poured(volume, s, TARGET) for s in strengths_around(latest)]))
    rng = random.Random(7)
    days = [sum(_poured_plainly(v, rng.gauss(latest, STRENGTH_SPREAD)) for v, latest in BATHS) for _ in range(4000)]
    for stock in (0.004, 0.006, 0.008, 0.010, 0.012):
        real = sum(needed > stock for needed in days) / len(days)
        assert chance_short(chances, round(stock / STEP)) == pytest.approx(real, abs=0.05)


def _poured_plainly(volume: float, present: float) -> float:
    """With equal densities and a full bath: V (c_t - c) / (1 - c)."""
    return max(volume * (TARGET - present) / (1 - present), 0.0)


def test_where_strength_target_or_volume_are_not_known_nothing_is_stated() -> None:
    unit = SimpleNamespace(
        bath=None, supply=None, refrigeration=None, components=(), kinds={}, tag="GU-1", installed_on=None
    )
    going = needs.Going(SimpleNamespace(unit=unit), frozenset({"glycol_change"}))

    assert needs.concentrate_at(going) == []
