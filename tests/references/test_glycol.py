"""Glycol against published tables. Tolerances are those by which the sources differ among themselves."""

import pytest

from service.domain.physics.glycol.fractions import mole_fraction, strength_from_volume, volume_fraction
from service.domain.physics.glycol.mix import correction
from service.domain.physics.glycol.properties import (
    Glycol,
    conductivity,
    density,
    freezing_point,
    specific_heat,
    strength_at_freezing_point,
    viscosity,
)
from service.domain.physics.glycol.protection import estimated_coil_temperature, freeze_margin, ice_fraction
from service.domain.physics.glycol.strength import brix, refractive_index, strength_from_brix, sugar_refractive_index

ICE = 273.15


def kelvin(fahrenheit):
    return (fahrenheit + 459.67) / 1.8


# ASHRAE Handbook of Fundamentals, 2001, freezing points of aqueous solutions of propylene glycol: mass %, vol %, °C.
ASHRAE_FREEZING = [
    (5, 4.8, -1.6),
    (10, 9.6, -3.3),
    (15, 14.5, -5.1),
    (20, 19.4, -7.1),
    (25, 24.4, -9.6),
    (30, 29.4, -12.7),
    (33, 32.4, -14.8),
    (35, 34.4, -16.4),
    (40, 39.6, -21.1),
    (45, 44.7, -26.7),
    (50, 49.9, -33.5),
    (55, 55.0, -41.6),
    (60, 60.0, -51.1),
]


@pytest.mark.parametrize(("mass", "_", "celsius"), ASHRAE_FREEZING)
def test_freezing_points_are_those_of_the_ashrae_table(mass, _, celsius):
    tolerance = 0.5 if mass <= 35 else 0.8 if mass == 40 else 1.5

    assert freezing_point(mass / 100) - ICE == pytest.approx(celsius, abs=tolerance)


@pytest.mark.parametrize(("mass", "_", "celsius"), ASHRAE_FREEZING[:-1])
def test_strengths_by_freezing_point_are_those_of_the_ashrae_table(mass, _, celsius):
    """But for the last: -51.1 °C lies beyond the strongest solution of the equation."""
    assert strength_at_freezing_point(celsius + ICE) * 100 == pytest.approx(mass, abs=1.3)


@pytest.mark.parametrize(("mass", "volume", "_"), ASHRAE_FREEZING)
def test_volume_fractions_are_those_of_the_ashrae_table(mass, volume, _):
    """The table counts volume after mixing; ours is what is poured together: 0.9 points apart at the strong end."""
    tolerance = 0.6 if mass <= 40 else 0.95

    assert volume_fraction(mass / 100) * 100 == pytest.approx(volume, abs=tolerance)
    assert strength_from_volume(volume / 100) * 100 == pytest.approx(mass, abs=tolerance)


# Lange's Handbook of Chemistry, 15th ed., Table 5.13, p. 5.85: pure propylene glycol, vol %, °C.
LANGE = [
    (5, -1.1),
    (10, -2.2),
    (15, -3.9),
    (20, -6.7),
    (25, -8.9),
    (30, -12.8),
    (35, -16.1),
    (40, -20.6),
    (45, -26.7),
    (50, -33.3),
]


@pytest.mark.parametrize(("volume", "celsius"), LANGE)
def test_freezing_points_by_volume_are_those_of_lange(volume, celsius):
    assert freezing_point(strength_from_volume(volume / 100)) - ICE == pytest.approx(celsius, abs=1.5)


# CoolProp 8.0.0, INCOMP::MPG, inverted: regression values.
@pytest.mark.parametrize(
    ("fahrenheit", "strength"),
    [(28, 0.0819), (25, 0.1264), (20, 0.1895), (15, 0.2438), (10, 0.2911), (5, 0.3323)],
)
def test_required_strengths_are_the_regression_values(fahrenheit, strength):
    assert strength_at_freezing_point(kelvin(fahrenheit)) == pytest.approx(strength, abs=6e-5)


# The lever rule on CoolProp 8.0.0, INCOMP::MPG: regression values. Mass fraction, °C, ice.
@pytest.mark.parametrize(
    ("strength", "celsius", "ice"),
    [
        (0.10, -5, 0.346),
        (0.10, -8, 0.538),
        (0.15, -6, 0.144),
        (0.15, -8, 0.307),
        (0.15, -10, 0.409),
        (0.20, -8, 0.076),
        (0.20, -10, 0.212),
        (0.20, -12, 0.305),
    ],
)
def test_slush_holds_the_ice_of_the_regression_table(strength, celsius, ice):
    assert ice_fraction(mass_fraction=strength, temperature=celsius + ICE) == pytest.approx(ice, abs=6e-4)


# ASHRAE Handbook of Fundamentals, 2001, tables of inhibited propylene glycol, columns by volume:
# °C, vol %, kg/m3, J/(kg K), mPa s, W/(m K).
ASHRAE_PROPERTIES = [
    (-5, 20, 1027.24, 3918, 4.98, 0.456),
    (-5, 30, 1037.89, 3779, 9.08, 0.416),
    (-5, 40, 1047.02, 3619, 16.75, 0.380),
    (-5, 50, 1054.84, 3435, 24.99, 0.346),
    (0, 20, 1025.84, 3929, 4.05, 0.464),
    (0, 30, 1036.24, 3793, 7.08, 0.423),
    (0, 40, 1045.12, 3636, 12.37, 0.385),
    (0, 50, 1052.71, 3455, 18.40, 0.349),
    (5, 20, 1024.32, 3940, 3.34, 0.472),
    (5, 30, 1034.46, 3807, 5.61, 0.429),
    (5, 40, 1043.09, 3652, 9.35, 0.389),
    (5, 50, 1050.44, 3474, 13.85, 0.353),
    (10, 20, 1022.68, 3951, 2.79, 0.479),
    (10, 30, 1032.55, 3820, 4.52, 0.434),
    (10, 40, 1040.94, 3669, 7.22, 0.394),
    (10, 50, 1048.04, 3493, 10.65, 0.356),
    (20, 20, 1019.01, 3973, 2.02, 0.492),
    (20, 30, 1028.35, 3848, 3.06, 0.445),
    (20, 40, 1036.24, 3702, 4.57, 0.402),
    (20, 50, 1042.87, 3532, 6.65, 0.362),
]


@pytest.mark.parametrize(("celsius", "volume", "rho", "cp", "mu", "k"), ASHRAE_PROPERTIES)
def test_properties_are_those_of_the_ashrae_tables_for_inhibited_glycol(celsius, volume, rho, cp, mu, k):
    state = {"mass_fraction": strength_from_volume(volume / 100), "temperature": celsius + ICE}

    assert density(**state) == pytest.approx(rho, rel=0.007)
    assert specific_heat(**state) == pytest.approx(cp, rel=0.01)
    assert viscosity(**state) * 1e3 == pytest.approx(mu, rel=0.13)
    assert conductivity(**state) == pytest.approx(k, rel=0.03)


# CoolProp 8.0.0, INCOMP::MPG (Melinder, 2010), mass fractions: regression. °C, w, kg/m3, J/(kg K), mPa s, W/(m K).
MPG = [
    (-10, 0.30, 1034.3, 3775.3, 12.327, 0.42062),
    (-10, 0.35, 1040.5, 3695.6, 16.605, 0.40108),
    (-10, 0.40, 1046.4, 3608.6, 22.241, 0.38189),
    (-10, 0.50, 1056.0, 3414.4, 38.104, 0.34506),
    (-5, 0.20, 1020.8, 3926.1, 5.4095, 0.46572),
    (-5, 0.25, 1026.9, 3860.2, 7.0478, 0.44497),
    (-5, 0.35, 1038.94, 3710.8, 12.233, 0.40445),
    (-2, 0.30, 1032.2, 3797.2, 7.8926, 0.42688),
    (-2, 0.50, 1052.0, 3445.4, 21.760, 0.34882),
    (0, 0.25, 1025.8, 3872.2, 5.5151, 0.44955),
    (0, 0.35, 1037.14, 3725.9, 9.2120, 0.40787),
    (0, 0.40, 1042.4, 3641.6, 11.879, 0.38784),
    (5, 0.30, 1029.8934, 3816.3, 5.5694, 0.43242),
    (5, 0.50, 1048.2, 3472.4, 14.054, 0.35216),
    (20, 0.20, 1014.8, 3976.8, 2.0301, 0.49221),
    (20, 0.35, 1028.2, 3785.7, 3.6067, 0.42191),
    (20, 0.50, 1039.1, 3530.2, 6.3936, 0.35946),
]


@pytest.mark.parametrize(("celsius", "strength", "rho", "cp", "mu", "k"), MPG)
def test_properties_are_the_regression_values(celsius, strength, rho, cp, mu, k):
    state = {"mass_fraction": strength, "temperature": celsius + ICE}

    assert density(**state) == pytest.approx(rho, rel=1e-4)
    assert specific_heat(**state) == pytest.approx(cp, rel=1e-4)
    assert viscosity(**state) * 1e3 == pytest.approx(mu, rel=1e-4)
    assert conductivity(**state) == pytest.approx(k, rel=1e-4)


def test_ethylene_glycol_is_distinguished_from_propylene_glycol():
    """CoolProp 8.0.0, INCOMP::MEG[0.30] at 0 °C: regression values."""
    state = {"mass_fraction": 0.30, "temperature": ICE, "glycol": Glycol.ETHYLENE}

    assert density(**state) == pytest.approx(1044.97, rel=1e-4)
    assert specific_heat(**state) == pytest.approx(3658.1, rel=1e-4)
    assert viscosity(**state) * 1e3 == pytest.approx(4.298, rel=1e-3)
    assert conductivity(**state) == pytest.approx(0.4459, rel=1e-3)


@pytest.mark.parametrize(
    ("percent", "celsius"),
    [(15, -5.4), (22, -8.9), (27, -12.0), (30, -14.1), (33, -16.2), (38, -20.3), (44, -26.4), (50, -33.8), (58, -45.6)],
)
def test_ethylene_glycol_freezes_no_colder_than_the_handbook_has_it(percent, celsius):
    """ASHRAE Handbook of Fundamentals, 2001, ethylene glycol, by mass; as transcribed in CoolProp's data files."""
    found = freezing_point(percent / 100.0, Glycol.ETHYLENE) - ICE

    assert found == pytest.approx(celsius, abs=0.25)
    assert found > celsius - 0.15  # an error on the safe side is warmer


def test_ethylene_glycol_by_volume_is_the_published_pair():
    """A glycol maker's table: 34 mass % of ethylene glycol is 31.6 vol %."""
    assert volume_fraction(0.34, Glycol.ETHYLENE) * 100 == pytest.approx(31.6, abs=0.1)


def test_viscosity_against_the_usual_strength_is_the_regression_ratio():
    """CoolProp 8.0.0, MPG at 28 °F: ratios to 35 mass %, at 10.42 mPa s."""
    usual = viscosity(mass_fraction=0.35, temperature=kelvin(28))
    ratios = {0.25: 0.59, 0.40: 1.30, 0.45: 1.67, 0.50: 2.12, 0.55: 2.64, 0.60: 3.26}

    assert usual * 1e3 == pytest.approx(10.42, rel=1e-3)
    for strength, ratio in ratios.items():
        assert viscosity(mass_fraction=strength, temperature=kelvin(28)) / usual == pytest.approx(ratio, abs=0.006)


@pytest.mark.parametrize(
    ("mass", "mole"),
    [(20, 5.59), (25, 7.31), (30, 9.21), (35, 11.31), (40, 13.63), (50, 19.14), (60, 26.21)],
)
def test_mole_fractions_follow_from_the_molar_masses(mass, mole):
    """76.094 and 18.015 g/mol."""
    assert mole_fraction(mass / 100) * 100 == pytest.approx(mole, abs=0.006)


def test_one_part_of_glycol_to_two_of_water_is_the_usual_mixture():
    """Two trade guides mix 1:2 by volume; 33.3 vol % is 34.17 mass % and freezes at -15.7 °C (regression)."""
    strength = strength_from_volume(1 / 3)

    assert strength == pytest.approx(0.3417, abs=1e-4)
    assert freezing_point(strength) - ICE == pytest.approx(-15.69, abs=0.3)


# ICUMSA, 1974, as tabulated in a refractometer maker's data book, "Refractive index and Brix", 20 °C.
@pytest.mark.parametrize(
    ("reading", "index"),
    [
        (0, 1.33299),
        (5, 1.34026),
        (10, 1.34782),
        (15, 1.35568),
        (20, 1.36384),
        (25, 1.37233),
        (30, 1.38115),
        (35, 1.39032),
        (40, 1.39986),
        (45, 1.40978),
    ],
)
def test_the_sugar_scale_is_that_of_icumsa(reading, index):
    assert sugar_refractive_index(reading) == pytest.approx(index, abs=1e-5)


def test_the_published_brix_anchor_is_35_percent_by_volume():
    """A glycol chiller maker's maintenance article, 2019-12-20: 26.5 Brix = 35 % PG, 65 % water."""
    strength = strength_from_brix(reading=26.5, sample_temperature=293.15, compensated=True)

    assert volume_fraction(strength) * 100 == pytest.approx(35.0, abs=1.5)
    assert brix(mass_fraction=strength_from_volume(0.35), sample_temperature=293.15) == pytest.approx(26.5, abs=1.0)


# The Lorentz-Lorenz model with the same anchors, computed with other libraries: mass %, index at 20 °C, Brix.
@pytest.mark.parametrize(
    ("mass", "index", "reading"),
    [
        (20, 1.35534, 14.79),
        (25, 1.36121, 18.41),
        (30, 1.36714, 21.97),
        (33, 1.37071, 24.06),
        (35, 1.37308, 25.43),
        (40, 1.37897, 28.78),
        (50, 1.39031, 34.99),
        (60, 1.40063, 40.39),
    ],
)
def test_readings_are_those_computed_elsewhere(mass, index, reading):
    sample = {"mass_fraction": mass / 100, "sample_temperature": 293.15}

    assert refractive_index(**sample) == pytest.approx(index, abs=1e-4)
    assert brix(**sample) == pytest.approx(reading, abs=0.06)


@pytest.mark.parametrize(
    ("reading", "mass", "celsius"),
    [(15, 20.3, -7.3), (18, 24.4, -9.5), (20, 27.2, -11.1), (22, 30.0, -12.8), (24, 32.9, -14.8), (25, 34.4, -15.8),
     (26.5, 36.6, -17.6), (28, 38.8, -19.5), (30, 41.9, -22.4)],
)  # fmt: skip
def test_strengths_by_brix_are_those_computed_elsewhere(reading, mass, celsius):
    strength = strength_from_brix(reading=reading, sample_temperature=293.15, compensated=True)

    assert strength * 100 == pytest.approx(mass, abs=0.15)
    assert freezing_point(strength) - ICE == pytest.approx(celsius, abs=0.15)


@pytest.mark.parametrize(("celsius", "reading"), [(10, 26.6), (15, 26.0), (20, 25.4), (25, 24.8), (30, 24.2)])
def test_an_uncompensated_sample_reads_as_computed_elsewhere(celsius, reading):
    """35 mass %, constant specific refraction: about -0.12 Brix a kelvin."""
    assert brix(mass_fraction=0.35, sample_temperature=celsius + ICE) == pytest.approx(reading, abs=0.1)


def test_the_index_falls_with_temperature_as_liquids_do():
    """A refractometer maker's page on corrections: -0.0001 to -0.0004 per °C."""
    cold, warm = (refractive_index(mass_fraction=0.35, sample_temperature=t) for t in (288.15, 298.15))

    assert -0.0004 < (warm - cold) / 10 < -0.0001


def test_a_coil_in_a_bath_at_25_degrees_is_as_cold_as_published():
    """A chiller maker's answer: the coil at 10 to 15 °F in a bath at 25 °F; 1/3 glycol protects to 5 to 7 °F."""
    coil = estimated_coil_temperature(kelvin(25))
    freezing = freezing_point(strength_from_volume(1 / 3)) * 1.8 - 459.67

    assert kelvin(10) <= coil + 1e-9 <= kelvin(15)
    assert freezing == pytest.approx(6.0, abs=2.7)  # 0.5 K between sources, and the answer's own 2 °F
    assert freeze_margin(mass_fraction=strength_from_volume(1 / 3), coldest_surface=coil) > 0.0


def test_a_correction_is_near_the_trade_formula():
    """V = V_system (c_t - c) / (1 - c) by parts, as service articles give it: 5 % for what it leaves out."""
    done = correction(volume=0.1, capacity=0.1, temperature=kelvin(28), present=0.20, target=0.35, poured=1.0)

    assert done.pour_in == pytest.approx(0.1 * 0.15 / 0.80, rel=0.05)
