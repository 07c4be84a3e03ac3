"""Heat in the loop: balances close, and over-strong glycol starves it."""

from math import nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.physics.glycol.properties import viscosity
from service.domain.physics.lines.loop_flow import Loop
from service.domain.physics.lines.loop_heat import (
    capacity_rate,
    starvation,
    temperature_rise,
)
from service.domain.physics.ranges import OutOfRange

unhurried = settings(deadline=None, max_examples=60)  # the first example imports the library
LOOP = Loop(bore=0.009525, length=60.96)
AT = {"mass_fraction": 0.35, "temperature": 271.0}


@unhurried
@given(st.floats(0.36, 0.6), st.floats(1e4, 1.5e5))
def test_glycol_stronger_than_the_target_starves_the_loop_and_its_heat_more_than_its_flow(strength, pressure):
    starved = starvation(LOOP, pressure=pressure, mass_fraction=strength, target=0.35, temperature=271.0)

    assert starved.heat_share < starved.flow_share < 1.0


@pytest.mark.parametrize("strength", [0.40, 0.45, 0.50, 0.55])
def test_a_laminar_loop_starves_by_the_viscosity(strength):
    """Poiseuille: at one pressure the flow goes by 1 / mu."""
    starved = starvation(LOOP, pressure=5e4, mass_fraction=strength, target=0.35, temperature=271.0)
    thin, thick = (viscosity(mass_fraction=w, temperature=271.0) for w in (0.35, strength))

    assert starved.flow_share == pytest.approx(thin / thick, rel=1e-4)
    assert starved.flow / starved.target_flow == starved.flow_share


def test_at_the_target_nothing_is_starved():
    starved = starvation(LOOP, pressure=1e5, mass_fraction=0.35, target=0.35, temperature=271.0)

    assert (starved.flow_share, starved.heat_share) == (1.0, 1.0)


@pytest.mark.parametrize(
    "refused",
    [
        lambda: temperature_rise(heat=-1.0, flow=1e-4, **AT),
        lambda: temperature_rise(heat=nan, flow=1e-4, **AT),
        lambda: temperature_rise(heat=100.0, flow=0.0, **AT),
        lambda: capacity_rate(flow=nan, **AT),
        lambda: capacity_rate(flow=1e-4, mass_fraction=1.3, temperature=271.0),
        lambda: capacity_rate(flow=1e-4, mass_fraction=0.35, temperature=400.0),
        lambda: starvation(LOOP, pressure=0.0, mass_fraction=0.4, target=0.35, temperature=271.0),
        lambda: starvation(LOOP, pressure=1e5, mass_fraction=0.4, target=0.61, temperature=271.0),
    ],
)
def test_heat_and_power_are_refused_outside_each_limit(refused):
    with pytest.raises(OutOfRange):
        refused()
