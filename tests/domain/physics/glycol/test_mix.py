"""Corrections and top-ups: the masses balance, whatever the way there."""

from math import nan, nextafter

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from service.domain.physics.glycol.fractions import volume_fraction
from service.domain.physics.glycol.mix import Correction, correction, poured_density, strength_after_pouring
from service.domain.physics.glycol.properties import density
from service.domain.physics.ranges import OutOfRange

unhurried = settings(deadline=None, max_examples=80)  # the first example imports the library
BATH = 275.0
FULL = {"volume": 0.038, "capacity": 0.038, "temperature": BATH}
volumes = st.floats(0.005, 1.0)
strengths = st.floats(0.05, 0.55)


def reachable(present, target, far):
    """A fluid beyond the target, `far` of the way to pure glycol or to water."""
    return target + far * (1.0 - target) if target > present else target * (1.0 - far)


@unhurried
@given(volumes, st.floats(0.0, 2.0), strengths, strengths, st.floats(0.0, 1.0))
def test_what_is_left_and_what_is_poured_in_have_the_target_strength(volume, room, present, target, far):
    poured = reachable(present, target, far)
    capacity = volume * (1.0 + room)
    done = correction(volume=volume, capacity=capacity, temperature=BATH, present=present, target=target, poured=poured)
    left = (volume - done.drain) * density(mass_fraction=present, temperature=BATH)
    added = done.pour_in * poured_density(poured)

    assert left * present + added * poured == pytest.approx((left + added) * target, rel=1e-9)
    assert left + added == pytest.approx(done.volume * density(mass_fraction=target, temperature=BATH), rel=1e-9)
    assert 0.0 <= done.drain <= volume * (1.0 + 1e-9)
    assert done.volume <= capacity


@unhurried
@given(strengths, strengths, st.floats(0.1, 1.0))
def test_carrying_the_correction_out_arrives_at_the_target(present, target, far):
    assume(abs(present - target) > 0.005)
    poured = reachable(present, target, far)
    done = correction(**FULL, present=present, target=target, poured=poured)
    assume(0.038 - done.drain > 0.001)
    after = strength_after_pouring(
        volume=0.038 - done.drain, temperature=BATH, present=present, poured_volume=done.pour_in, poured=poured
    )

    assert after == pytest.approx(target, abs=1e-9)


def test_nothing_is_drained_while_there_is_room():
    done = correction(volume=0.030, capacity=0.038, temperature=BATH, present=0.30, target=0.35, poured=1.0)

    assert done.drain == 0.0
    assert 0.030 < done.volume < 0.038


def test_a_full_bath_is_drained_by_about_what_is_poured_in():
    done = correction(**FULL, present=0.25, target=0.35, poured=1.0)

    assert done.volume == 0.038
    assert done.drain == pytest.approx(done.pour_in, rel=0.08)


def test_glycol_that_is_too_strong_is_thinned_with_water():
    done = correction(**FULL, present=0.50, target=0.35, poured=0.0)

    assert 0.3 * 0.038 < done.drain < 0.32 * 0.038


def test_no_correction_is_needed_at_the_target():
    done = correction(**FULL, present=0.35, target=0.35, poured=1.0)

    assert done == Correction(drain=0.0, pour_in=0.0, volume=0.038)


def test_a_ready_mixture_of_the_target_strength_replaces_everything():
    done = correction(**FULL, present=0.20, target=0.35, poured=0.35)

    assert done.drain == pytest.approx(0.038)
    assert done.pour_in * density(mass_fraction=0.35, temperature=293.15) == pytest.approx(
        0.038 * density(mass_fraction=0.35, temperature=BATH)
    )


def test_the_exact_balance_is_near_the_trade_formula():
    """V = V_system (c_t - c) / (1 - c) in parts by volume: common practice, as printed in service articles."""
    now, then = volume_fraction(0.25), volume_fraction(0.35)
    done = correction(**FULL, present=0.25, target=0.35, poured=1.0)

    assert done.pour_in == pytest.approx(0.038 * (then - now) / (1.0 - now), rel=0.03)


@pytest.mark.parametrize(
    ("present", "target", "poured"), [(0.25, 0.35, 0.34), (0.25, 0.35, 0.0), (0.50, 0.35, 0.36), (0.50, 0.35, 1.0)]
)
def test_a_fluid_that_cannot_bring_the_target_is_refused(present, target, poured):
    with pytest.raises(OutOfRange, match=r"strength of the fluid poured in to (strengthen|dilute)"):
        correction(**FULL, present=present, target=target, poured=poured)


@pytest.mark.parametrize("target", [0.20, 0.30])
def test_a_bath_too_cold_for_either_strength_is_refused(target):
    with pytest.raises(OutOfRange, match="temperature of the liquid"):
        correction(volume=0.038, capacity=0.038, temperature=262.0, present=0.25, target=target, poured=0.0)


@pytest.mark.parametrize(
    ("changed", "match"),
    [
        ({"volume": 0.0}, "volume of bath and loop"),
        ({"volume": -0.038}, "volume of bath and loop"),
        ({"volume": nan}, "volume of bath and loop"),
        ({"capacity": 0.037}, "capacity of bath and loop"),
        ({"capacity": nan}, "capacity of bath and loop"),
        ({"temperature": 400.0}, "temperature of the liquid"),
        ({"present": 0.61}, "glycol mass fraction"),
        ({"target": 1.3}, "glycol mass fraction"),
        ({"target": nan}, "glycol mass fraction"),
        ({"poured": 1.01}, "strength of the fluid poured in"),
        ({"poured": nan}, "strength of the fluid poured in"),
    ],
)
def test_a_correction_is_refused_outside_each_limit(changed, match):
    with pytest.raises(OutOfRange, match=match):
        correction(**({**FULL, "present": 0.25, "target": 0.35, "poured": 1.0} | changed))


@unhurried
@given(volumes, strengths, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_top_up_ends_between_the_two_strengths(volume, present, poured_volume, poured):
    after = strength_after_pouring(
        volume=volume, temperature=BATH, present=present, poured_volume=poured_volume, poured=poured
    )

    assert min(present, poured) - 1e-12 <= after <= max(present, poured) + 1e-12


def test_pouring_nothing_in_changes_nothing():
    after = strength_after_pouring(volume=0.03, temperature=BATH, present=0.35, poured_volume=0.0, poured=0.0)

    assert after == pytest.approx(0.35, abs=1e-15)


@pytest.mark.parametrize(
    "changed", [{"poured_volume": -0.001}, {"poured_volume": nan}, {"poured": 1.3}, {"volume": 0.0}]
)
def test_a_top_up_is_refused_outside_each_limit(changed):
    given_ = {"volume": 0.03, "temperature": BATH, "present": 0.35, "poured_volume": 0.005, "poured": 0.0}
    with pytest.raises(OutOfRange):
        strength_after_pouring(**(given_ | changed))


def test_the_density_of_what_is_poured_in_has_no_step_where_the_data_end():
    assert poured_density(nextafter(0.6, 1.0)) == pytest.approx(poured_density(0.6), rel=1e-12)
    with pytest.raises(OutOfRange, match="strength of the fluid poured in"):
        poured_density(nextafter(1.0, 2.0))
