"""Ice, margins and concerns."""

from math import nan, nextafter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.physics.glycol.properties import Glycol, freezing_point
from service.domain.physics.glycol.protection import (
    ETHYLENE,
    LEAST_MARGIN,
    STRONG,
    WEAK,
    estimated_coil_temperature,
    freeze_margin,
    glycol_warnings,
    ice_fraction,
)
from service.domain.physics.ranges import OutOfRange

unhurried = settings(deadline=None, max_examples=60)  # the first example imports the library


@pytest.mark.parametrize(
    ("strength", "expected"),
    [
        (0.0, (WEAK,)),
        (nextafter(0.25, 0.0), (WEAK,)),
        (0.25, ()),
        (0.35, ()),
        (0.50, ()),
        (nextafter(0.50, 1.0), (STRONG,)),
        (0.60, (STRONG,)),
    ],
)
def test_propylene_glycol_is_of_concern_below_25_and_above_50_percent(strength, expected):
    assert glycol_warnings(strength) == expected


def test_ethylene_glycol_is_of_concern_at_every_strength_and_before_all_else():
    assert glycol_warnings(0.35, Glycol.ETHYLENE) == (ETHYLENE,)
    assert glycol_warnings(0.20, Glycol.ETHYLENE) == (ETHYLENE, WEAK)


@pytest.mark.parametrize("warning", [ETHYLENE, WEAK, STRONG])
def test_a_warning_has_a_reason_and_a_source(warning):
    assert warning.reason.endswith(".")
    assert warning.source


@unhurried
@given(st.floats(0.0, 0.6), st.floats(224.0, 300.0))
def test_there_is_ice_below_the_freezing_point_only_and_never_more_than_the_water(strength, temperature):
    ice = ice_fraction(mass_fraction=strength, temperature=temperature)

    assert (ice > 0.0) is (temperature < freezing_point(strength))
    assert ice <= 1.0 - strength


@unhurried
@given(st.floats(0.01, 0.5), st.floats(0.1, 15.0))
def test_ice_and_what_is_left_hold_all_the_glycol(strength, below):
    """The liquid between the crystals is as strong as freezes at that temperature: a balance of glycol."""
    temperature = freezing_point(strength) - below
    liquid = 1.0 - ice_fraction(mass_fraction=strength, temperature=temperature)

    assert freezing_point(strength / liquid) == pytest.approx(temperature, abs=1e-6)


def test_plain_water_below_the_ice_point_is_all_ice():
    assert ice_fraction(mass_fraction=0.0, temperature=270.0) == 1.0


@pytest.mark.parametrize("temperature", [200.0, 374.0, nan])
def test_ice_is_refused_outside_the_data(temperature):
    with pytest.raises(OutOfRange, match="temperature"):
        ice_fraction(mass_fraction=0.3, temperature=temperature)


@unhurried
@given(st.floats(0.0, 0.6), st.floats(200.0, 373.15))
def test_the_margin_is_nought_where_the_surface_is_at_the_freezing_point(strength, surface):
    margin = freeze_margin(mass_fraction=strength, coldest_surface=surface)

    assert surface - margin == pytest.approx(freezing_point(strength), abs=1e-9)


def test_a_bath_that_is_safe_itself_can_freeze_on_its_coil():
    """26 °F bath, 20 %: the bath is 3.8 K above freezing, its coil below it; so protect to the coil."""
    bath = (26.0 + 459.67) / 1.8
    coil = estimated_coil_temperature(bath)

    assert freeze_margin(mass_fraction=0.20, coldest_surface=bath) > LEAST_MARGIN
    assert freeze_margin(mass_fraction=0.20, coldest_surface=coil) < 0.0


@pytest.mark.parametrize("surface", [199.9, 373.2, nan])
def test_a_margin_to_an_impossible_surface_is_refused(surface):
    with pytest.raises(OutOfRange, match="coldest surface"):
        freeze_margin(mass_fraction=0.3, coldest_surface=surface)


@pytest.mark.parametrize("bath", [239.9, 400.0, nan])
def test_a_coil_is_not_estimated_for_an_impossible_bath(bath):
    with pytest.raises(OutOfRange, match="bath temperature"):
        estimated_coil_temperature(bath)


@pytest.mark.parametrize("strength", [-0.01, 0.61, nan])
def test_a_strength_outside_the_data_is_refused(strength):
    for refused in (
        lambda: glycol_warnings(strength),
        lambda: freeze_margin(mass_fraction=strength, coldest_surface=260.0),
        lambda: ice_fraction(mass_fraction=strength, temperature=260.0),
    ):
        with pytest.raises(OutOfRange, match="glycol mass fraction"):
            refused()
