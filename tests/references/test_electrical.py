"""Electricity against print: NEC tables and rules, NEMA MG 1, NETA Table 100.18."""

import pytest

from service.domain.physics.electrical.contacts import contact_heat, rise_beside_similar, rise_over_ambient
from service.domain.physics.electrical.motor_currents import full_load_current
from service.domain.physics.electrical.supply import torque_share, unbalance_derating, voltage_check, voltage_unbalance
from service.domain.physics.electrical.switch_load import continuous_limit, disconnect_minimum, motor_limit, switch_load

HORSEPOWER = 745.699872  # [W]

# NEC (NFPA 70) Table 430.248: hp, amperes at 115, 208, 230 V
FULL_LOAD_TABLE = [
    (1 / 6, 4.4, 2.4, 2.2), (1 / 4, 5.8, 3.2, 2.9), (1 / 3, 7.2, 4.0, 3.6), (1 / 2, 9.8, 5.4, 4.9),
    (3 / 4, 13.8, 7.6, 6.9), (1, 16.0, 8.8, 8.0), (1.5, 20.0, 11.0, 10.0), (2, 24.0, 13.2, 12.0), (3, 34.0, 18.7, 17.0),
]  # fmt: skip
# NEC 2008 Table 430.251(A), same columns
LOCKED_ROTOR_TABLE = [
    (1 / 2, 58.8, 32.5, 29.4), (3 / 4, 82.8, 45.8, 41.4), (1, 96, 53, 48), (1.5, 120, 66, 60), (2, 144, 80, 72),
    (3, 204, 113, 102),
]  # fmt: skip


@pytest.mark.parametrize(("power", "at_115", "at_208", "at_230"), FULL_LOAD_TABLE)
def test_full_load_currents_are_the_table(power, at_115, at_208, at_230):
    found = [full_load_current(rated_power=power * HORSEPOWER, rated_voltage=each) for each in (115, 208, 230)]

    assert found == pytest.approx([at_115, at_208, at_230], abs=1e-9)


@pytest.mark.parametrize(("power", "at_115", "at_208", "at_230"), LOCKED_ROTOR_TABLE)
def test_locked_rotor_is_six_times_full_load(power, at_115, at_208, at_230):
    full_load = [full_load_current(rated_power=power * HORSEPOWER, rated_voltage=each) for each in (115, 208, 230)]

    starting = [switch_load([each], rated_current=100.0, rating="motor").starting for each in full_load]
    assert starting[0] == pytest.approx(at_115, abs=1e-9)  # exactly 6 at 115 V
    assert starting[1:] == pytest.approx([at_208, at_230], rel=0.015)  # the others are rounded


def test_a_twenty_ampere_ac_switch_is_too_small_for_this_unit():
    # NEC 404.14, 430.109 (80 %), 440.12(A) (115 %): 1/2 hp 9.8 A, 1/4 hp 5.8 A, fan 1.0 A; arithmetic
    motors = [9.8, 5.8, 1.0]
    load = switch_load(motors, rated_current=20.0, rating="ac_only")

    assert load.running == pytest.approx(16.6)
    assert load.motor_limit == pytest.approx(16.0)
    assert load.over
    assert disconnect_minimum(load.running) == pytest.approx(19.1, abs=0.05)
    assert not switch_load(motors, rated_current=20.0, rating="motor").over


def test_a_resistive_rating_has_to_be_twice_the_motor_current():
    # UL 982: resistive rating at least 2 x the full-load current of NEC Article 430
    assert motor_limit(20.0, rating="resistive") == 10.0
    assert switch_load([9.8, 5.8], rated_current=20.0, rating="resistive").over


def test_starting_current_is_six_times_the_running_one():
    # EC&M 2023: typically six or more times; NEC Table 430.251(A): 58.8 A for 1/2 hp at 115 V
    assert switch_load([9.8], rated_current=20.0, rating="motor").starting == pytest.approx(58.8)


@pytest.mark.parametrize(("breaker", "limit"), [(15.0, 12.0), (20.0, 16.0)])
def test_cord_and_plug_units_take_eighty_percent_of_the_circuit(breaker, limit):
    # NEC 210.23(A)(1)
    assert continuous_limit(breaker) == pytest.approx(limit)


def test_voltage_may_be_ten_percent_off():
    # NEMA MG 1: 10 % either side at rated frequency
    check = voltage_check(115.0, rated=115.0)

    assert (check.low, check.high) == pytest.approx((103.5, 126.5))


def test_ninety_percent_voltage_leaves_81_percent_torque():
    # textbook: torque goes with the square of the voltage
    assert torque_share(0.9 * 230.0, rated=230.0) == pytest.approx(0.81)


@pytest.mark.parametrize(
    ("volts", "percent", "tolerance"),
    [((462, 463, 455), 1.09, 0.005), ((480, 476, 472), 0.84, 0.005), ((203, 210, 212), 2.56, 0.005)],
)
def test_voltage_unbalance_examples(volts, percent, tolerance):
    # motor articles after NEMA MG 1; the third prints 2.5, its own arithmetic gives 2.56
    assert 100 * voltage_unbalance(*volts) == pytest.approx(percent, abs=tolerance)


@pytest.mark.parametrize(("percent", "factor"), [(1, 1.00), (2, 0.95), (3, 0.90), (4, 0.82), (5, 0.75)])
def test_derating_for_unbalance(percent, factor):
    # 3 % -> 0.90 from a motor article; the others NEMA MG 1 from memory
    assert unbalance_derating(percent / 100) == pytest.approx(factor)


@pytest.mark.parametrize(
    ("rise", "code"), [(0, "none"), (1, "possible"), (3, "possible"), (4, "probable"), (15, "probable"), (16, "major")]
)
def test_rise_beside_a_similar_part(rise, code):
    # NETA MTS/ATS Table 100.18
    assert rise_beside_similar(hot=300.0 + rise, similar=300.0).code == code


@pytest.mark.parametrize(
    ("rise", "code"),
    [
        (1, "possible"),
        (10, "possible"),
        (11, "probable"),
        (20, "probable"),
        (21, "monitor"),
        (40, "monitor"),
        (41, "major"),
    ],
)
def test_rise_over_ambient(rise, code):
    # NETA MTS/ATS Table 100.18
    assert rise_over_ambient(hot=300.0 + rise, ambient=300.0).code == code


def test_half_a_volt_at_sixteen_amperes_is_eight_watts():
    # Joule's law
    assert contact_heat(current=16.0, drop=0.5) == 8.0
