"""Triage has an answer for every rating within its limits, whatever was read."""

from dataclasses import replace
from itertools import product

import pytest

from service.domain.triage.explanations import SOMETHING_ELSE
from service.domain.triage.facts import LIMITS

from .conftest import unit

EDGES = [dict(zip(LIMITS, ends, strict=True)) for ends in product(*((each.low, each.high) for each in LIMITS.values()))]


@pytest.mark.parametrize("turn", range(6))
def test_every_rating_within_the_limits_has_an_answer_whatever_was_read(triage, turn):
    lines = ("bath_temperature {} degF", "ambient_temperature {} degF", "cooler_temperature {} degF")
    read = [(), (-40, 140, -40), (140, -40, 140), (-40, -40, 140), (140, 140, -40), (-40, 180, -40)][turn]
    for number, edge in enumerate(EDGES[turn::9]):
        described = unit()
        for (part, name), value in edge.items():
            before = getattr(described, part)
            entered = replace(getattr(before, name), value=value)
            described = replace(described, **{part: replace(before, **{name: entered})})
        circuit = replace(described.refrigeration, metering=("capillary", "expansion_valve")[number % 2])
        answer = triage(
            *(line.format(value) for line, value in zip(lines, read, strict=False)),
            unit=replace(described, refrigeration=circuit),
        )

        assert 0.0 < sum(each.probability for each in answer.explanations) <= 1.001


def test_readings_far_from_every_explanation_leave_something_else(triage):
    far = ("bath_temperature 140 degF", "current[compressor-1] 500 A", "current[fan-1] 500 A", "current[pump-1] 500 A",
           "glycol_flow 3000 gal/h", "suction_pressure 1000 psi", "discharge_pressure 1500 psi",
           "controller_set_point -40 degF", "controller_temperature -40 degF", "keg_temperature 140 degF")  # fmt: skip

    assert triage(*far).explanations[0].code == SOMETHING_ELSE
