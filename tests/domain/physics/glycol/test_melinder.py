"""Melinder's polynomials against CoolProp 8, the library that has them as INCOMP::MPG and INCOMP::MEG."""

import pytest

from service.domain.physics.glycol.melinder import ETHYLENE, PROPYLENE
from service.domain.physics.libraries import props_si

HOTTEST = 373.15
STRENGTHS = [n / 20 for n in range(13)]


@pytest.mark.parametrize("strength", STRENGTHS)
@pytest.mark.parametrize(("glycol", "fluid"), [(PROPYLENE, "MPG"), (ETHYLENE, "MEG")])
def test_values_are_those_of_coolprop(glycol, fluid, strength):
    def library(key, temperature):
        return props_si(key, "T", temperature, "P", 101325.0, f"INCOMP::{fluid}[{strength:.17g}]")

    freezing = library("T_freeze", HOTTEST)
    assert glycol.freezes(strength) == pytest.approx(freezing, rel=1e-12)
    for temperature in [freezing + (HOTTEST - freezing) * n / 8 for n in range(1, 9)]:
        for key, rows in (("D", glycol.density), ("C", glycol.specific_heat), ("L", glycol.conductivity)):
            assert glycol.value(rows, strength, temperature) == pytest.approx(library(key, temperature), rel=1e-12)
        assert glycol.viscous(strength, temperature) == pytest.approx(library("V", temperature), rel=1e-12)
