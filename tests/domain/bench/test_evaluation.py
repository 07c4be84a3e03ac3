"""Every question within its limits is answered or refused by a field, whatever it holds: never broken."""

from dataclasses import fields
from math import isfinite

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.domain.bench.calculations import CALCULATIONS
from service.domain.bench.evaluation import calculate
from service.domain.bench.fields import inputs_of, required_of
from service.domain.bench.figures import COMPOUND, figure, show_figure
from service.domain.bench.limits import in_unit_of
from service.domain.errors import Fault, Invalid
from service.domain.physics.refrigeration.refrigerants import REFRIGERANTS
from service.domain.plain import shape
from service.domain.quantities import Quantity, parse_quantity

BY_NAME = {calculation.name: calculation for calculation in CALCULATIONS}

NAMES = [calculation.name for calculation in CALCULATIONS]


def quantities(span):
    dimension, low, high = span
    ends = [parse_quantity(end, dimension).value for end in (low, high)]
    unit = high.split(" ")[1]
    typed = st.floats(*ends).map(lambda value: in_unit_of(Quantity(value, dimension, f"1 {unit}"), value))
    return typed.map(lambda text: parse_quantity(text, dimension))


def leaves(name, asked):
    if asked.spans:
        return st.sampled_from(asked.spans).flatmap(quantities)
    if asked.choices:
        return st.sampled_from(asked.choices)
    if asked.counts:
        return st.integers(*asked.counts)
    if asked.amounts:
        return st.floats(*asked.amounts)
    known = [each.name for each in REFRIGERANTS]
    return st.sampled_from(known) if name == "refrigerant" else st.text(max_size=3) if asked.longest else st.booleans()


def questions(kind):
    made, needed = {}, required_of(kind)
    for name, asked in inputs_of(kind).items():
        part = shape(kind)[name].record
        one = st.lists(questions(part), min_size=asked.counts[0], max_size=4) if part else leaves(name, asked)
        made[name] = one
    return st.fixed_dictionaries(
        {name: one for name, one in made.items() if name in needed},
        optional={name: one for name, one in made.items() if name not in needed},
    )


def figures_in(value):
    if isinstance(value, Quantity):
        yield value
    elif isinstance(value, tuple):
        for part in value:
            yield from figures_in(part)
    elif hasattr(value, "__dataclass_fields__"):
        for field in fields(value):
            yield from figures_in(getattr(value, field.name))


@pytest.mark.parametrize("name", NAMES)
def test_any_question_within_its_limits_is_answered_in_finite_figures_or_refused(name):
    @given(entered=questions(BY_NAME[name].inputs))
    @settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True, database=None)
    def every_question(entered):
        try:
            found = figures_in(calculate(BY_NAME[name], entered).outcome.results)
        except Invalid as refusal:
            faults = refusal.faults
        else:
            faults = [Fault("results", each, "is not finite") for each in found if not isfinite(each.value)]
        assert all(fault.field and fault.message for fault in faults)
        assert "results" not in {fault.field for fault in faults}

    every_question()


@pytest.mark.parametrize("name", NAMES)
def test_what_is_usual_lies_within_its_own_limits(name):
    for asked in inputs_of(BY_NAME[name].inputs).values():
        if asked.spans and asked.default:
            usual = parse_quantity(asked.default, *(dimension for dimension, _, _ in asked.spans))
            low, high = next(span[1:] for span in asked.spans if span[0] == usual.dimension)
            ends = [parse_quantity(end, usual.dimension).value for end in (low, high)]
            assert ends[0] <= usual.value <= ends[1]
        elif asked.choices and asked.default:
            assert asked.default in asked.choices


PINT_UNITS = {
    "density": ("kg/m**3", "pound/gallon"),
    "specific_heat": ("kJ/kg/K", "Btu/pound/delta_degF"),
    "viscosity": ("mPa*s", "centipoise"),
    "conductivity": ("W/m/K", "Btu/hour/foot/delta_degF"),
    "heat_per_length": ("W/m", "Btu/hour/foot"),
    "heat_flow": ("W", "Btu/hour"),
    "heat": ("kJ", "Btu"),
    "heat_capacity": ("kJ/K", "Btu/delta_degF"),
    "capacity_rate": ("W/K", "Btu/hour/delta_degF"),
    "cooling_rate": ("delta_degC/minute", "delta_degF/minute"),
    "thickness": ("mm", "inch"),
}
BASES = {
    "density": "kg/m**3",
    "specific_heat": "J/kg/K",
    "viscosity": "Pa*s",
    "conductivity": "W/m/K",
    "heat_per_length": "W/m",
    "heat_flow": "W",
    "heat": "J",
    "heat_capacity": "J/K",
    "capacity_rate": "W/K",
    "cooling_rate": "K/s",
    "thickness": "m",
}


@pytest.mark.parametrize("dimension", COMPOUND)
@pytest.mark.parametrize(("system", "which"), [("si", 0), ("us", 1)])
def test_compound_units_are_those_of_the_unit_library(dimension, system, which):
    """Reference: pint's definitions."""
    import pint

    expected = pint.UnitRegistry().Quantity(2.5, BASES[dimension]).to(PINT_UNITS[dimension][which]).magnitude

    assert show_figure(figure(2.5, dimension), system)["value"] == pytest.approx(expected, rel=1e-5)
