"""Sweating: dew point, surface, and the insulation that keeps dry."""

from math import nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.physics.lines.dew_point import dew_point, dry_thickness, surface_temperature, vapour_pressure
from service.domain.physics.lines.heat_gain import Jacket
from service.domain.physics.ranges import OutOfRange

airs = st.floats(275.0, 320.0)
humidities = st.floats(0.05, 1.0)


@given(airs, humidities)
def test_vapour_pressure_at_the_dew_point_is_the_airs_share(air: float, humidity: float) -> None:
    dew = dew_point(air=air, relative_humidity=humidity)

    assert vapour_pressure(dew) == pytest.approx(humidity * vapour_pressure(air), rel=1e-9)


@given(airs)
def test_saturated_air_is_at_its_dew_point(air: float) -> None:
    assert dew_point(air=air, relative_humidity=1.0) == pytest.approx(air, abs=1e-9)


@given(airs, st.floats(0.05, 0.95))
def test_damper_air_has_a_higher_dew_point(air: float, humidity: float) -> None:
    damper = dew_point(air=air, relative_humidity=humidity + 0.05)

    assert damper > dew_point(air=air, relative_humidity=humidity)


@given(st.floats(0.001, 0.1), airs)
def test_surface_lies_between_core_and_air(thickness: float, air: float) -> None:
    surface = surface_temperature(Jacket(0.05, thickness), air=air, core=272.0)

    assert 272.0 < surface < air


@given(st.floats(0.3, 0.9))
@settings(deadline=None)  # scipy is imported on first use
def test_dry_thickness_puts_the_surface_at_the_dew_point(humidity: float) -> None:
    dew = dew_point(air=300.0, relative_humidity=humidity)
    thickness = dry_thickness(0.05, air=300.0, core=271.0, dew=dew)

    if thickness > 0.0:
        assert surface_temperature(Jacket(0.05, thickness), air=300.0, core=271.0) == pytest.approx(dew, abs=1e-9)


def test_bare_core_warmer_than_the_dew_point_needs_no_insulation() -> None:
    assert dry_thickness(0.05, air=295.0, core=290.0, dew=280.0) == 0.0


def test_saturated_air_wets_any_insulation_and_is_refused() -> None:
    with pytest.raises(OutOfRange, match="dew point"):
        dry_thickness(0.05, air=300.0, core=271.0, dew=300.0)


@pytest.mark.parametrize("humidity", [0.0, 0.0099, 1.0001, 55.0, nan])
def test_humidity_outside_its_limits_is_refused(humidity: float) -> None:
    with pytest.raises(OutOfRange, match="relative humidity"):
        dew_point(air=297.0, relative_humidity=humidity)


@pytest.mark.parametrize("air", [233.14, 323.16, nan])
def test_air_outside_its_limits_is_refused(air: float) -> None:
    with pytest.raises(OutOfRange, match="air temperature"):
        vapour_pressure(air)


@pytest.mark.parametrize("air", [233.15, 323.15])
def test_air_at_its_limits_is_calculated(air: float) -> None:
    assert vapour_pressure(air) > 0.0
