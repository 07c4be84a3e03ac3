"""The refrigeration circuit against published signs of faults, and against a steady model written elsewhere."""

from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest

from service.domain.physics.refrigeration.refrigerants import refrigerant
from service.domain.physics.refrigeration.saturation import bubble_temperature
from service.domain.triage.balance import Design, Now
from service.domain.triage.channels import INDEX
from service.domain.triage.circuit import Running, Solved, steady
from service.domain.triage.drivers import drivers, further_scatter
from service.domain.triage.explanation import RUNNING
from service.domain.triage.explanations import EXPLANATIONS
from service.domain.triage.facts import facts_of
from service.domain.triage.fluid import fluid
from service.domain.triage.forward import expected
from service.domain.triage.hypotheses import rows, singles, together
from service.domain.triage.measured import measure
from service.domain.triage.of_refrigeration import REFRIGERATION
from service.domain.triage.variants import variants
from tests.domain.triage.conftest import RECORD, question, unit

HEALTHY = {
    "air_flow": 1.0,
    "floor": 0.0,
    "charge": 1.0,
    "opening": 1.0,
    "gas": 0.0,
    "leak": 0.0,
    "transfer": 1.0,
}


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8 + 273.15


def run(capillary: bool = True, bath: float = 29.0, air: float = 85.0, **faults: float) -> dict[str, float]:
    """Its figures, differences and temperatures in degF."""
    return shown(circuit(capillary, bath, air, **faults), air)


def circuit(capillary: bool, bath: float, air: float, **faults: float) -> Running:
    """One point in degF: R-134a, rated at a bath of 29 and air of 85 degF, superheat 10.8, subcooling 9, split 18.2."""
    one = np.ones(1)
    design = Design(
        fluid=fluid(refrigerant("R-134a")),
        capillary=capillary,
        cooling=850.0 * one,
        ambient=kelvin(85.0) * one,
        bath=kelvin(29.0) * one,
        approach=12.5 / 1.8 * one,
        split=18.2 / 1.8 * one,
        superheat=10.8 / 1.8 * one,
        subcooling=9.0 / 1.8 * one,
        rise=11.2 / 1.8 * one,
        efficiency=0.57 * one,
        in_condenser=0.27 * one,
    )
    settings = {name: np.full(1, value) for name, value in (HEALTHY | faults).items()}
    return steady(design, Now(bath=kelvin(bath) * one, air=kelvin(air) * one, **settings))


def shown(found: Running, air: float) -> dict[str, float]:
    head = bubble_temperature(refrigerant("R-134a"), float(found.discharge[0]))
    return {
        "Te": (found.evaporating[0] - 273.15) * 1.8 + 32.0,
        "SH": found.superheat[0] * 1.8,
        "Tc": (head - 273.15) * 1.8 + 32.0,
        "SC": (found.subcooling[0] + head - found.condensing[0]) * 1.8,
        "rise": (found.air_out[0] - kelvin(air)) * 1.8,
        "Q": found.cooling[0] / 850.0 * 100.0 - 100.0,
    }


# Rossi and Braun, HVAC&R Research 3(1), 1997: signs of the residuals of a fixed orifice, as printed in the Purdue
# report "Fault Detection and Diagnostics for Rooftop Air Conditioners" (Braun and Li), table 1-1. Sizes: mild faults.
SIGNS = {
    "leak": ({"charge": 0.85}, {"Te": -1, "SH": 1, "Tc": -1, "SC": -1, "rise": -1}),
    "restriction": ({"opening": 0.8}, {"Te": -1, "SH": 1, "Tc": -1, "SC": 1, "rise": -1}),
    "condenser fouling": ({"air_flow": 0.6}, {"Te": 1, "SH": -1, "Tc": 1, "SC": -1, "rise": 1}),
    "evaporator fouling": ({"transfer": 0.7}, {"Te": -1, "SH": -1, "Tc": -1, "SC": -1, "rise": -1}),
    "compressor leak": ({"leak": 0.2}, {"Te": 1, "SH": -1, "Tc": -1, "SC": -1, "rise": -1}),
}


@pytest.mark.parametrize("fault", SIGNS)
def test_the_signs_of_a_fault_are_those_published(fault):
    effects, signs = SIGNS[fault]
    healthy, faulty = run(), run(**effects)

    assert {name: int(np.sign(faulty[name] - healthy[name])) for name in signs} == signs


# A steady model of a capillary unit, written elsewhere with other correlations; its digits are not a source, so the
# bounds are wide: 3 degF on saturation, 6 on superheat, 4 on subcooling, 6 points of capacity.
POINTS = [
    ({}, (16.5, 10.8, 103.2, 9.0, 0.0)),
    ({"charge": 0.8}, (13.5, 15.2, 101.3, 0.8, -10.0)),
    ({"charge": 0.7}, (8.4, 20.6, 99.3, 0.0, -23.0)),
    ({"charge": 1.2}, (18.3, 4.9, 104.9, 14.3, 6.0)),
    ({"opening": 0.8}, (8.8, 20.1, 100.9, 11.9, -16.0)),
    ({"air_flow": 0.5}, (20.0, 0.0, 114.7, 6.0, -3.0)),
    ({"transfer": 0.6}, (14.1, 3.8, 101.9, 5.8, -7.0)),
    ({"leak": 0.2}, (20.8, 0.0, 101.0, 4.3, -12.0)),
    ({"gas": 1e5}, (17.1, 9.8, 109.7, 15.1, -1.0)),
    ({"air": 45.0}, (-4.0, 33.0, 59.0, 12.0, -20.0)),
    ({"air": 105.0}, (21.0, 0.0, 122.0, 2.8, -13.0)),
    ({"bath": 70.0}, (22.5, 46.0, 108.0, 16.0, 20.0)),
    ({"air_flow": 0.5, "charge": 0.8}, (16.6, 11.6, 112.3, 0.0, -10.0)),
    ({"air_flow": 0.5, "transfer": 0.5}, (14.1, 0.0, 110.2, 2.2, -20.0)),
    ({"opening": 0.7, "charge": 1.2}, (5.4, 23.6, 101.1, 15.2, -22.0)),
]


@pytest.mark.parametrize(("conditions", "expected"), POINTS)
def test_it_is_near_another_model(conditions, expected):
    found = run(**conditions)

    for name, value, within in zip(("Te", "SH", "Tc", "SC", "Q"), expected, (3.0, 6.0, 3.0, 4.0, 6.0), strict=True):
        assert found[name] == pytest.approx(value, abs=within), name


def test_half_the_air_and_a_fifth_of_the_charge_hide_each_other_in_all_but_subcooling():
    healthy, both = run(), run(air_flow=0.5, charge=0.8)

    assert abs(both["SH"] - healthy["SH"]) < 2.0
    assert abs(both["Te"] - healthy["Te"]) < 1.5
    assert both["SC"] < 2.0
    assert healthy["SC"] > 7.0


def test_a_valve_hides_a_mild_lack_of_charge_in_the_superheat():
    # NIST Technical Note 1848: a valve holds its superheat until it is fully open.
    assert run(capillary=False, charge=0.85)["SH"] == pytest.approx(10.8, abs=1.0)
    assert run(capillary=False, charge=0.85)["SC"] < 4.0


RUNNING_TOGETHER = [
    ((one.code, other.code), 1.0, node)
    for one, other in combinations(REFRIGERATION, 2)
    for a, b in product(one.nodes, other.nodes)
    if a.regime == b.regime == RUNNING
    for node in together(a, b, 1.0, 1.0)
]


@pytest.mark.parametrize("metering", ["capillary", "expansion_valve"])
@pytest.mark.parametrize("refrigerant", ["R-134a", "R-290", "R-404A"])
@pytest.mark.parametrize(("bath", "air"), [(27.0, 0.0), (29.0, 45.0), (29.0, 85.0), (60.0, 30.0), (75.0, 110.0)])
def test_every_drawn_circuit_settles(metering, refrigerant, bath, air):
    # Rounds of Newton's method with the slopes of earlier ones left a tenth of them between two states: the limit is
    # below what a gauge shows, 0.1 % of the rated cooling is some 0.01 K.
    refrigeration = RECORD["refrigeration"] | {"metering": metering, "refrigerant": refrigerant}
    asked = question(
        f"bath_temperature {bath} degF",
        f"condenser_air_in_temperature {air} degF",
        unit=unit(refrigeration=refrigeration),
    )
    facts, measured = facts_of(asked.unit, asked.atmosphere), measure(asked.unit, asked.readings)
    every = singles(EXPLANATIONS, {each.code: 1.0 for each in EXPLANATIONS}) + RUNNING_TOGETHER[::5]
    hypotheses, solved = rows(every), Solved()

    expected(facts, hypotheses, drivers(facts, measured, hypotheses)[0], solved)

    assert max(found.unsettled.max() for found in solved.found) < 1e-3


def test_a_circuit_that_its_overload_stops_is_expected_anywhere_on_its_way_and_cools_part_of_the_time():
    # Common practice, no source: a compressor without air at its condenser opens its overload after minutes of running.
    asked = question("bath_temperature 50 degF", "condenser_air_in_temperature 85 degF")
    facts, measured = facts_of(asked.unit, asked.atmosphere), measure(asked.unit, asked.readings)
    stands = next(each for each in REFRIGERATION if each.code == "condenser_fan_stopped")
    node = next(each for each in stands.nodes if each.effects["air_flow"] == 0.1 and each.regime == RUNNING)
    hypotheses = rows([((stands.code,), 1.0, replace(node, bath=9.0))])
    found = expected(facts, hypotheses, drivers(facts, measured, hypotheses)[0], Solved())
    spread = variants(hypotheses, found, facts.capillary)
    scatter = further_scatter(facts, measured, spread)

    head, rate = INDEX["discharge"], INDEX["bath_rate"]
    rest, steady_head = found.resting[head].mean(), found.running("discharge").mean()
    idle, cooled = found.resting[rate].mean(), found.running("bath_rate").mean()
    assert spread.trips.min() > 0.5
    assert scatter["discharge"].min() > 0.1 * (steady_head - rest)
    assert spread.values.mean[rate] == pytest.approx(0.5 * (idle + cooled), abs=0.1 * abs(cooled - idle))
    assert scatter["bath_rate"].min() > 0.3 * abs(cooled - idle)
