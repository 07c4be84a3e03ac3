"""Fractions by mass, volume and moles are each other's inverse and agree at both ends."""

from math import nan, nextafter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.glycol.fractions import (
    mole_fraction,
    strength_from_volume,
    volume_fraction,
)
from service.domain.physics.glycol.properties import Glycol
from service.domain.physics.ranges import OutOfRange

SCALES = [volume_fraction, strength_from_volume, mole_fraction]


@given(st.floats(0.0, 1.0), st.sampled_from(Glycol))
def test_there_and_back_is_where_one_started(fraction, glycol):
    assert strength_from_volume(volume_fraction(fraction, glycol), glycol) == pytest.approx(fraction, abs=1e-12)
    assert volume_fraction(strength_from_volume(fraction, glycol), glycol) == pytest.approx(fraction, abs=1e-12)


@pytest.mark.parametrize("convert", SCALES)
@pytest.mark.parametrize("glycol", Glycol)
def test_all_water_and_all_glycol_are_the_same_on_every_scale(convert, glycol):
    assert convert(0.0, glycol) == 0.0
    assert convert(1.0, glycol) == pytest.approx(1.0, abs=1e-15)


@pytest.mark.parametrize("convert", SCALES)
@pytest.mark.parametrize("fraction", [nextafter(0.0, -1.0), nextafter(1.0, 2.0), 35.0, nan])
def test_a_fraction_outside_nought_to_one_is_refused(convert, fraction):
    with pytest.raises(OutOfRange, match=r"fraction is .* from 0 to 1"):
        convert(fraction)
