"""The cycle: energy closes, the second law holds, a warmer condenser costs."""

from dataclasses import replace
from math import nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.physics.libraries import coolprop, coolprop_lock
from service.domain.physics.ranges import OutOfRange
from service.domain.physics.refrigeration.refrigerants import REFRIGERANTS, refrigerant
from service.domain.physics.refrigeration.vapour_compression import TRADE_CONDITIONS, condensing_penalty, cycle

unhurried = settings(deadline=None, max_examples=60)  # the first example asks CoolProp for a whole curve
R134A = refrigerant("R-134a")
fluids = st.sampled_from(REFRIGERANTS)
evaporating_temperatures = st.floats(245.0, 285.0)
condensing_temperatures = st.floats(300.0, 332.0)


@unhurried
@given(fluid=fluids, evaporating=evaporating_temperatures, condensing=condensing_temperatures)
def test_heat_rejected_is_cooling_and_work(fluid, evaporating, condensing):
    found = cycle(fluid, evaporating=evaporating, condensing=condensing)

    assert found.heat_rejected == pytest.approx(found.cooling + found.work, rel=1e-6)


@unhurried
@given(fluid=fluids, evaporating=evaporating_temperatures, condensing=condensing_temperatures)
def test_no_cycle_beats_carnot(fluid, evaporating, condensing):
    found = cycle(fluid, evaporating=evaporating, condensing=condensing)
    # a blend takes heat up below its dew and gives it off above its bubble temperature: Carnot still bounds it
    assert 0.0 < found.cop < evaporating / (condensing - evaporating)


@unhurried
@given(fluid=fluids, clean=st.floats(300.0, 325.0), over=st.floats(0.1, 10.0))
def test_a_warmer_condenser_gives_less_and_takes_more(fluid, clean, over):
    cost = condensing_penalty(fluid, evaporating=263.7, clean=clean, now=clean + over)

    assert cost.capacity < 0.0 < cost.power < cost.energy_per_cooling


@unhurried
@given(fluid=fluids, at=condensing_temperatures)
def test_no_change_costs_nothing(fluid, at):
    cost = condensing_penalty(fluid, evaporating=263.7, clean=at, now=at)

    assert (cost.capacity, cost.power, cost.energy_per_cooling) == (0.0, 0.0, 0.0)


@unhurried
@given(fluid=fluids, one=condensing_temperatures, other=condensing_temperatures)
def test_there_and_back_cancel(fluid, one, other):
    there = condensing_penalty(fluid, evaporating=263.7, clean=one, now=other)
    back = condensing_penalty(fluid, evaporating=263.7, clean=other, now=one)

    assert (1.0 + there.capacity) * (1.0 + back.capacity) == pytest.approx(1.0, rel=1e-9)
    assert (1.0 + there.power) * (1.0 + back.power) == pytest.approx(1.0, rel=1e-9)


def test_a_perfect_compressor_needs_the_isentropic_work():
    perfect = cycle(
        R134A, evaporating=263.7, condensing=313.7, conditions=replace(TRADE_CONDITIONS, isentropic_efficiency=1.0)
    )
    real = cycle(R134A, evaporating=263.7, condensing=313.7)

    assert real.work == pytest.approx(perfect.work / 0.65, rel=1e-9)


@pytest.mark.parametrize("name", ["R-134a", "R-290", "R-404A"])
def test_isentropic_work_is_the_one_coolprop_finds_itself(name):
    fluid = refrigerant(name)
    found = cycle(fluid, evaporating=263.7, condensing=313.7)
    with coolprop_lock:
        ask = coolprop().PropsSI
        suction = ("T", 263.7 + 10 / 1.8, "P", found.suction_pressure, fluid.fluid)
        h1, s1, rho1 = (ask(key, *suction) for key in ("H", "S", "D"))
        h2s = ask("H", "P", found.discharge_pressure, "S", s1, fluid.fluid)

    assert found.work == pytest.approx(rho1 * (h2s - h1) / 0.65, rel=1e-6)


@pytest.mark.parametrize("evaporating", [233.14, 303.16, nan])
def test_evaporating_out_of_range_is_refused(evaporating):
    with pytest.raises(OutOfRange, match="evaporating temperature"):
        cycle(R134A, evaporating=evaporating, condensing=320.0)


@pytest.mark.parametrize("condensing", [268.69, 263.7, 343.16, nan])
def test_condensing_out_of_range_is_refused(condensing):
    with pytest.raises(OutOfRange, match=r"condensing temperature .* from 268.7 to 343.15 K"):
        cycle(R134A, evaporating=263.7, condensing=condensing)


@pytest.mark.parametrize(
    ("field", "value", "name"),
    [
        ("superheat", -0.1, "superheat"), ("superheat", 40.1, "superheat"), ("subcooling", 40.1, "subcooling"),
        ("subcooling", nan, "subcooling"), ("isentropic_efficiency", 1.01, "isentropic efficiency"),
        ("isentropic_efficiency", 0.29, "isentropic efficiency"),
    ],
)  # fmt: skip
def test_conditions_out_of_range_are_refused(field, value, name):
    with pytest.raises(OutOfRange, match=name):
        cycle(R134A, evaporating=263.7, condensing=313.7, conditions=replace(TRADE_CONDITIONS, **{field: value}))


@pytest.mark.parametrize(("evaporating", "condensing"), [(233.15, 343.15), (303.15, 343.15), (303.15, 308.15)])
def test_the_limits_are_answered(evaporating, condensing):
    assert cycle(R134A, evaporating=evaporating, condensing=condensing).cop > 0.0


@pytest.mark.parametrize("fluid", REFRIGERANTS, ids=lambda each: each.name)
def test_every_refrigerant_is_answered_up_to_its_hottest(fluid):
    found = cycle(fluid, evaporating=263.15, condensing=fluid.hottest)

    assert found.discharge_pressure > found.suction_pressure
    assert found.cop > 0.0
