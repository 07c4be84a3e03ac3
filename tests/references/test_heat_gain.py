"""Heat gain against published worked examples; the source stands beside each value."""

from math import pi

import pytest
from ht.conduction import (  # type: ignore[import-untyped]
    R_cylinder,
    S_isothermal_pipe_to_plane,
    cylindrical_heat_transfer,
)

from service.domain.physics.lines.buried import Burial, buried_resistance, shape_factor
from service.domain.physics.lines.dew_point import dew_point, surface_temperature, vapour_pressure
from service.domain.physics.lines.heat_gain import (
    Jacket,
    air_resistance,
    cylinder_resistance,
    film_resistance,
    heat_gain,
    jacket_resistance,
)

INCH = 0.0254
W_PER_BTU_H_FT = 0.2930711 / 0.3048
K_IMPERIAL = 1.730735  # Btu/(h ft degF) in W/(m K)
H_IMPERIAL = 5.678263  # Btu/(h ft2 degF) in W/(m2 K)
SOUND_FOAM = 0.03606  # 0.25 Btu in/(h ft2 degF)
STILL_AIR = 1.65 * H_IMPERIAL


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8 + 273.15


def test_insulated_steel_pipe_has_its_printed_resistance_and_loss() -> None:
    """Homework bank, answers printed: 5/6 cm steel k 43, 1.2 cm of k 0.11, h 500/17, 134 K, 6 m: 0.1204 K/W, 1113 W."""
    total = (
        film_resistance(diameter=0.05, coefficient=500.0)
        + cylinder_resistance(inner_diameter=0.05, outer_diameter=0.06, conductivity=43.0)
        + air_resistance(Jacket(0.06, 0.012, 0.11), 17.0)
    ) / 6.0

    assert total == pytest.approx(0.1204, rel=2e-3)
    assert 134.0 / total == pytest.approx(1113.0, rel=2e-3)


def test_fibreglass_pipe_has_its_four_printed_resistances() -> None:
    """Cengel, problem 3-75E: 0.036 + 0.002 + 5.516 + 0.096 = 5.65 h ft degF/Btu."""
    inside = film_resistance(diameter=3.5 * INCH, coefficient=30 * H_IMPERIAL) * K_IMPERIAL
    pipe = cylinder_resistance(inner_diameter=3.5 * INCH, outer_diameter=4 * INCH, conductivity=8.7 * K_IMPERIAL)
    jacket = Jacket(4 * INCH, 2 * INCH, 0.020 * K_IMPERIAL)
    outside = film_resistance(diameter=jacket.outer_diameter, coefficient=5 * H_IMPERIAL) * K_IMPERIAL

    assert inside == pytest.approx(0.036, abs=5e-4)
    assert pipe * K_IMPERIAL == pytest.approx(0.002, abs=5e-4)
    assert jacket_resistance(jacket) * K_IMPERIAL == pytest.approx(5.516, abs=5e-4)
    assert outside == pytest.approx(0.096, abs=6e-4)
    total = inside + (pipe + jacket_resistance(jacket)) * K_IMPERIAL + outside
    assert total == pytest.approx(5.65, abs=5e-3)


def test_iron_pipe_loses_what_the_textbook_prints() -> None:
    """Cengel, example 3-8 (from memory): 121 W/m."""
    total = (
        film_resistance(diameter=0.05, coefficient=60.0)
        + cylinder_resistance(inner_diameter=0.05, outer_diameter=0.055, conductivity=80.0)
        + air_resistance(Jacket(0.055, 0.03, 0.05), 18.0)
    )

    assert 315.0 / total == pytest.approx(121.0, abs=0.5)


def test_two_layers_lose_what_ht_documents() -> None:
    """ht.conduction.cylindrical_heat_transfer, docstring: 73.12000884 W/m."""
    steel = cylinder_resistance(inner_diameter=0.0779272, outer_diameter=0.0889, conductivity=56.045)
    total = steel + air_resistance(Jacket(0.0889, 0.05, 0.0598535265), 22.697193)

    assert (453.15 - 301.15) / total == pytest.approx(73.12000884, rel=1e-6)


def test_insulation_design_guide_identity_holds() -> None:
    """WBDG Mechanical Insulation Design Guide, eq. (3): k 0.25, 1 in to 2 in radius, 45 degF: 8.498 Btu/(h ft)."""
    resistance = cylinder_resistance(
        inner_diameter=2 * INCH, outer_diameter=4 * INCH, conductivity=0.25 / 12 * K_IMPERIAL
    )

    assert 25.0 / resistance / W_PER_BTU_H_FT == pytest.approx(8.498, abs=1e-3)


@pytest.mark.parametrize(
    ("core", "foam", "at_75", "at_90", "at_110"),
    [
        (1.5, 0.5, 9.32, 12.43, 16.57),
        (1.5, 0.75, 7.42, 9.89, 13.19),
        (2.0, 0.5, 11.63, 15.51, 20.68),
        (2.0, 0.75, 9.12, 12.15, 16.21),
        (2.0, 1.0, 7.66, 10.21, 13.62),
        (2.5, 1.0, 8.99, 11.99, 15.98),
        (3.0, 1.0, 10.31, 13.74, 18.33),
    ],
)
def test_trunk_table_is_met(core: float, foam: float, at_75: float, at_90: float, at_110: float) -> None:
    """Calculated with ht 1.2.0: 30 degF core, k 0.25 Btu in/(h ft2 degF), h 1.65; Btu/(h ft)."""
    resistance = air_resistance(Jacket(core * INCH, foam * INCH, SOUND_FOAM), STILL_AIR)

    for air, expected in ((75, at_75), (90, at_90), (110, at_110)):
        gain = heat_gain(resistance=resistance, surroundings=kelvin(air), core=kelvin(30))
        assert gain / W_PER_BTU_H_FT == pytest.approx(expected, abs=0.006)


def test_trunk_agrees_with_ht_for_the_same_layers() -> None:
    """ht.conduction.cylindrical_heat_transfer and R_cylinder, computed here."""
    jacket = Jacket(0.0635, 0.0254, 0.036)
    there = cylindrical_heat_transfer(Ti=272.0, To=300.0, hi=1e12, ho=9.37, Di=0.0635, ts=[0.0254], ks=[0.036])

    here = heat_gain(resistance=air_resistance(jacket, 9.37), surroundings=300.0, core=272.0)
    assert here == pytest.approx(-there["Q"], rel=1e-9)
    assert jacket_resistance(jacket) == pytest.approx(R_cylinder(0.0635, 0.1143, 0.036, 1.0), rel=1e-12)


def test_surface_of_the_trunk_example_is_at_70_6_degf() -> None:
    """Trunk example E, calculated with ht: 2 in core at 30 degF, 1 in of foam, 75 degF air."""
    surface = surface_temperature(
        Jacket(2 * INCH, INCH, SOUND_FOAM), air=kelvin(75), core=kelvin(30), coefficient=STILL_AIR
    )

    assert (surface - 273.15) * 1.8 + 32 == pytest.approx(70.6, abs=0.05)


@pytest.mark.parametrize(
    ("diameter", "depth", "length", "expected", "tolerance"),
    [
        (1.0, 100.0, 3.0, 3.146071454894645, 1e-9),  # ht docstring, S_isothermal_pipe_to_plane(1, 100, 3)
        (1.0, 1.5, 5.0, 17.822, 1e-4),  # Waterloo ME353 worksheet's pipe, by the inverse cosine form
        (0.10, 0.50, 30.0, 62.9, 2e-3),  # Cengel: 62.9 m printed, by the logarithmic form (from memory)
    ],
)
def test_shape_factor_is_the_published_one(
    diameter: float, depth: float, length: float, expected: float, tolerance: float
) -> None:
    assert length * shape_factor(diameter=diameter, depth=depth) == pytest.approx(expected, rel=tolerance)


def test_shape_factor_is_that_of_ht() -> None:
    """ht.conduction.S_isothermal_pipe_to_plane (Incropera, 6th ed., Table 4.1, case 2)."""
    for diameter, depth in ((0.05, 0.1), (0.1524, 0.6), (0.3, 2.0)):
        expected = S_isothermal_pipe_to_plane(diameter, depth, 1.0)
        assert shape_factor(diameter=diameter, depth=depth) == pytest.approx(expected, rel=1e-12)


def test_buried_hot_water_pipe_loses_3964_w() -> None:
    """Cengel: 30 m, D 0.10 m, z 0.50 m, k 0.9, 80 to 10 degC; 3964 W by ln(4z/D), 0.1 % less than exact."""
    assert 30 * 0.9 * shape_factor(diameter=0.10, depth=0.50) * 70 == pytest.approx(3964.0, rel=2e-3)


def test_buried_insulated_oil_pipe_loses_84_w_a_metre() -> None:
    """Incropera, problem 4.20: 0.5 m + 100 mm of cellular glass, z 1.5 m, soil 0.52, 120 K; 84 W/m (from memory)."""
    assert 120.0 / buried_resistance(Jacket(0.5, 0.1, 0.069), Burial(1.5, 0.52)) == pytest.approx(84.0, abs=0.1)


@pytest.mark.parametrize(("celsius", "pascal"), [(0.01, 611.66), (10.0, 1228.2), (20.0, 2339.3), (40.0, 7384.9)])
def test_vapour_pressure_meets_the_steam_tables(celsius: float, pascal: float) -> None:
    """IAPWS-95 saturation pressures (from memory); Magnus claims 0.4 %."""
    assert vapour_pressure(celsius + 273.15) == pytest.approx(pascal, rel=4e-3)


@pytest.mark.parametrize(("air", "humidity"), [(297.04, 0.5), (283.15, 0.8), (305.0, 0.3), (311.0, 0.9)])
def test_dew_point_agrees_with_coolprop(air: float, humidity: float) -> None:
    """CoolProp HAPropsSI, ASHRAE RP-1485 moist air, computed here."""
    from CoolProp.HumidAirProp import HAPropsSI  # type: ignore[import-untyped]

    expected = HAPropsSI("D", "T", air, "P", 101325.0, "R", humidity)
    assert dew_point(air=air, relative_humidity=humidity) == pytest.approx(expected, abs=0.1)


def test_still_air_example_has_its_film() -> None:
    """1.65 Btu/(h ft2 degF) on a 4 in surface, by the definition of a surface coefficient."""
    assert film_resistance(diameter=4 * INCH, coefficient=STILL_AIR) == pytest.approx(1 / (STILL_AIR * pi * 0.1016))
