"""Which measurements are proposed next."""

import pytest

from service.domain.triage import next_step

from .conftest import RECORD, unit


@pytest.fixture
def proposed(triage, monkeypatch):
    """All steps by code, not only the best."""
    monkeypatch.setattr(next_step, "LISTED", len(next_step.possible(unit())))
    return lambda *lines, **more: {step.code: step for step in triage(*lines, **more).next}


def test_the_bath_is_measured_a_second_time_for_its_rate_and_not_a_third(proposed):
    once, twice = (
        proposed("bath_temperature 45 degF @0"),
        proposed("bath_temperature 45 degF @0", "bath_temperature 44 degF @12"),
    )

    assert "bath_temperature" not in once
    assert once["bath_again"].readings == (("bath_temperature", None),)
    assert "bath_again" not in twice


def test_the_current_of_a_pump_is_that_of_its_motor_where_only_the_motor_is_recorded(proposed):
    others = [part for part in RECORD["components"] if part["kind"] != "pump"]
    with_motor = unit(components=[*others, {"code": "motor-1", "kind": "pump_motor", "rated_current": "5.8 A"}])

    assert proposed(unit=with_motor)["pump_current"].readings == (("current", "motor-1"),)
    assert "pump_current" not in proposed("current[motor-1] 4 A", unit=with_motor)


def test_what_was_removed_is_not_measured(proposed):
    others = [part for part in RECORD["components"] if part["kind"] != "power_switch"]
    switch = {"code": "switch-1", "kind": "power_switch", "removed_on": "2026-01-05"}

    assert "voltage_behind" in proposed()
    assert "voltage_behind" not in proposed(unit=unit(components=[*others, switch]))
