"""The load on a unit against print."""

import pytest

from service.domain.physics.bath.unit_load import pour_load, pump_heat, unit_load
from service.domain.physics.refrigeration.capacity import RatedPoint, capacity_today
from service.domain.physics.refrigeration.refrigerants import refrigerant

BTU = 1055.05585262  # [J]
BTU_PER_HOUR = BTU / 3600.0  # [W]
GALLON = 3.785411784e-3  # [m3]
PINT = GALLON / 8.0  # [m3]


def kelvin(fahrenheit):
    return (fahrenheit + 459.67) / 1.8


def test_cooling_a_pint_by_ten_fahrenheit_takes_9_69_btu():
    # 1.0536 lb x 0.92 Btu/(lb degF) x 10 degF: arithmetic
    assert pour_load(flow=PINT / 3600.0, drop=10 / 1.8) == pytest.approx(9.69 * BTU_PER_HOUR, rel=5e-3)


def test_a_third_of_a_horsepower_is_848_btu_an_hour():
    # 1 hp = 2545 Btu/h
    assert pump_heat(745.699872 / 3.0) == pytest.approx(848 * BTU_PER_HOUR, rel=1e-3)


def test_the_worked_load_comes_to_2401_and_with_allowance_2761():
    # 150 ft x 9.12 Btu/(h ft); tower and pump common practice, no source; 15 % from a brewery chiller guide
    pour = pour_load(flow=120 * PINT / 3600.0, drop=2 / 1.8)
    load = unit_load(trunk=150 * 9.12 * BTU_PER_HOUR, tower=400 * BTU_PER_HOUR, pour=pour, pump=400 * BTU_PER_HOUR)

    assert load.sum / BTU_PER_HOUR == pytest.approx(2401, abs=2)
    assert load.total / BTU_PER_HOUR == pytest.approx(2761, abs=2)


@pytest.mark.parametrize("name", ["R-134a", "R-404A", "R-290", "R-449A"])
def test_a_colder_bath_costs_about_two_percent_a_fahrenheit(name):
    # a process chiller load sheet: 2 % per degF below 50 degF leaving; ours lets both exchangers ease as the load falls
    rated = RatedPoint(capacity=850.0, ambient=kelvin(90), bath=kelvin(50))
    colder = capacity_today(refrigerant(name), rated, ambient=kelvin(90), bath=kelvin(40))

    assert (1.0 - colder.share_of_rated) / 10.0 == pytest.approx(0.02, abs=0.007)
