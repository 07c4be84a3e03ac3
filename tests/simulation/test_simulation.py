"""The engine against rules of counting, on small fleets with known truth and fixed seeds.

The tables over many fleets are printed by `python -m tests.simulation`; these hold what must not be lost.
"""

import pytest

from service.domain.root_causes.engine import CONFIRMED, PROBABLE
from tests.simulation.fleet import fleet
from tests.simulation.measure import counting, decisions, engine, tallied
from tests.simulation.plan import Plan


@pytest.fixture(scope="module", params=["ramp", "damage"])
def said(request):
    """A fleet by one of the two generators, and what the engine says failure by failure, learning from the past."""
    units = fleet(250, 7, Plan(hazard=request.param))
    return units, decisions(units, engine(units))


def test_it_cries_wolf_far_less_than_two_in_twelve_months(said):
    units, told = said
    rule = tallied(units, decisions(units, counting(2)), 1.0).row()

    assert tallied(units, told, PROBABLE).row()["false/1000"] < rule["false/1000"] / 8


def test_who_is_confirmed_has_a_cause(said):
    units, told = said
    row = tallied(units, told, CONFIRMED).row()

    assert row["flags"] >= 3
    assert row["precision"] > 0.9


def test_most_causes_are_named_rightly(said):
    units, told = said

    assert tallied(units, told, PROBABLE).row()["cause"] > 0.8


def test_nobody_is_accused_at_the_first_failure(said):
    _, told = said

    assert all(rows[0][2] is None for _, _, rows in told)
