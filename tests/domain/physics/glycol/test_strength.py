"""What the refractometer shows, and back. Published values: tests/references."""

from math import nan, nextafter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.physics.glycol.strength import (
    brix,
    strength_from_brix,
    sugar_refractive_index,
)
from service.domain.physics.ranges import OutOfRange

unhurried = settings(deadline=None, max_examples=40)  # the first example imports the library
strengths = st.floats(0.0, 0.6)
samples = st.floats(283.15, 303.15)
ROOM = 293.15


@unhurried
@given(strengths, samples)
def test_an_uncompensated_reading_reads_back_as_the_strength_that_gives_it(strength, sample):
    reading = brix(mass_fraction=strength, sample_temperature=sample)
    back = strength_from_brix(reading=reading, sample_temperature=sample, compensated=False)

    assert back == pytest.approx(strength, abs=1e-9)


@unhurried
@given(st.floats(0.0, 40.0), samples)
def test_a_compensated_reading_does_not_depend_on_the_sample_temperature(reading, sample):
    warm, room = (strength_from_brix(reading=reading, sample_temperature=t, compensated=True) for t in (sample, ROOM))

    assert warm == room


@unhurried
@given(st.floats(1.0, 40.0), st.floats(283.15, 293.0))
def test_a_cold_sample_is_weaker_than_its_uncompensated_reading(reading, sample):
    corrected = strength_from_brix(reading=reading, sample_temperature=sample, compensated=False)

    assert corrected < strength_from_brix(reading=reading, sample_temperature=ROOM, compensated=False)


@unhurried
@given(st.floats(0.0, 0.59), st.floats(1e-4, 0.01), samples)
def test_stronger_glycol_reads_higher(weaker, more, sample):
    low, high = (brix(mass_fraction=w, sample_temperature=sample) for w in (weaker, weaker + more))

    assert high > low


def test_plain_water_at_twenty_degrees_reads_nought_and_nought_reads_as_water():
    assert brix(mass_fraction=0.0, sample_temperature=ROOM) == pytest.approx(0.0, abs=1e-9)
    assert strength_from_brix(reading=0.0, sample_temperature=ROOM, compensated=True) == 0.0


@pytest.mark.parametrize("sample", [nextafter(283.15, 0.0), nextafter(303.15, 400.0), 271.0, nan])
@pytest.mark.parametrize("compensated", [True, False])
def test_a_sample_that_is_too_cold_or_too_warm_is_refused(sample, compensated):
    with pytest.raises(OutOfRange, match=r"sample temperature is .* from 283.15 to 303.15 K"):
        strength_from_brix(reading=25.0, sample_temperature=sample, compensated=compensated)


@pytest.mark.parametrize("sample", [283.15, 303.15])
def test_a_sample_at_either_limit_is_taken(sample):
    assert 0.3 < strength_from_brix(reading=25.0, sample_temperature=sample, compensated=False) < 0.4


@pytest.mark.parametrize("reading", [-0.2, 40.6, 60.0, nan])
def test_a_reading_that_no_strength_gives_is_refused(reading):
    with pytest.raises(OutOfRange, match="Brix reading"):
        strength_from_brix(reading=reading, sample_temperature=ROOM, compensated=True)


@pytest.mark.parametrize("reading", [-5.1, 45.1, nan])
def test_a_sugar_reading_off_the_scale_is_refused(reading):
    with pytest.raises(OutOfRange, match="Brix reading"):
        sugar_refractive_index(reading)


@pytest.mark.parametrize("strength", [-0.01, 0.61, nan])
def test_an_index_is_refused_for_a_strength_outside_the_data(strength):
    with pytest.raises(OutOfRange, match="glycol mass fraction"):
        brix(mass_fraction=strength, sample_temperature=ROOM)
