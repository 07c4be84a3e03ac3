"""Draught numbers against the published tubing sheet, and the trade's rules of thumb."""

import pytest

from service.domain.physics.lines.beer import BEER_DENSITY, BEER_SPECIFIC_HEAT
from service.domain.physics.lines.draught import (
    Section,
    gravity_pressure,
    line_restriction,
    line_volume,
)
from service.domain.physics.lines.purge import GLASS, PITCHER, POUR_RATE, purge
from service.domain.physics.lines.tubing import TUBING, Tubing, tubing_row

INCH, FOOT, PSI, OUNCE = 0.0254, 0.3048, 6894.757, 2.95735296e-5


def section(tubing: Tubing, inches: float, feet: float) -> Section:
    return Section(tubing_row(tubing, inches * INCH), feet * FOOT)


@pytest.mark.parametrize(
    ("tubing", "inches", "psi", "ounces"),
    [
        (Tubing.VINYL, 3 / 16, 3.00, 1 / 6),
        (Tubing.VINYL, 1 / 4, 0.85, 1 / 3),
        (Tubing.VINYL, 5 / 16, 0.40, 1 / 2),
        (Tubing.VINYL, 3 / 8, 0.20, 3 / 4),
        (Tubing.VINYL, 1 / 2, 0.025, 1.33),
        (Tubing.BARRIER, 1 / 4, 0.30, 1 / 3),
        (Tubing.BARRIER, 5 / 16, 0.10, 1 / 2),
        (Tubing.BARRIER, 3 / 8, 0.06, 3 / 4),
        (Tubing.STAINLESS, 1 / 4, 1.20, 1 / 6),
        (Tubing.STAINLESS, 5 / 16, 0.30, 1 / 3),
        (Tubing.STAINLESS, 3 / 8, 0.12, 1 / 2),
    ],
)
def test_tubing_sheet_is_kept(tubing: Tubing, inches: float, psi: float, ounces: float) -> None:
    """Draught Beer Tubing Specifications, reference 2 of a beer-server certification course, 2021."""
    row = tubing_row(tubing, inches * INCH)

    assert row.restriction * FOOT / PSI == pytest.approx(psi, rel=1e-6)
    assert row.volume * FOOT / OUNCE == pytest.approx(ounces, rel=1e-6)


@pytest.mark.parametrize("row", [row for row in TUBING if row.tubing != Tubing.STAINLESS])
def test_published_volumes_are_the_geometry_rounded(row: object) -> None:
    """The same sheet against a cylinder: within 10 % (3/16 in: 0.1667 against 0.1836)."""
    geometric = line_volume(bore=row.size, length=1.0)  # type: ignore[attr-defined]

    assert row.volume == pytest.approx(geometric, rel=0.10)  # type: ignore[attr-defined]


@pytest.mark.parametrize(("inches", "ounces"), [(0.25, 0.3264), (0.3125, 0.5100), (0.375, 0.7344), (0.5, 1.3056)])
def test_geometric_volume_of_a_foot(inches: float, ounces: float) -> None:
    """Cylinder in US fluid ounces (231/128 in3), calculated beside the sheet."""
    assert line_volume(bore=inches * INCH, length=FOOT) / OUNCE == pytest.approx(ounces, abs=6e-5)


@pytest.mark.parametrize(("tubing", "inches", "psi"), [(Tubing.VINYL, 0.25, 17.0), (Tubing.BARRIER, 0.3125, 2.0)])
def test_twenty_feet_lose_the_pressure_of_the_brewers_association(tubing: Tubing, inches: float, psi: float) -> None:
    """Brewers Association, draughtquality.org, "Designing For Resistance"."""
    assert line_restriction([section(tubing, inches, 20.0)]) / PSI == pytest.approx(psi, rel=1e-6)


def long_draw() -> list[Section]:
    """The course's worked example: 5 ft 3/8 in vinyl, 63.3 ft 1/4 in barrier, 6.67 ft 5/16 in stainless."""
    return [
        section(Tubing.VINYL, 0.375, 5.0),
        section(Tubing.BARRIER, 0.25, 63.3),
        section(Tubing.STAINLESS, 0.3125, 6.67),
    ]


def test_long_draw_example_loses_22_psi() -> None:
    """Beer-server certification course, 2021: 1 + 19 + 2 = 22 psi."""
    assert line_restriction(long_draw()) / PSI == pytest.approx(22.0, abs=0.02)


def test_gravity_is_what_the_trade_rounds_to_half_a_psi_a_foot() -> None:
    """0.5 psi a foot (course notes; technician manual, p. 51); water weighs 0.433 psi a foot (handbooks)."""
    assert gravity_pressure(FOOT, 1000.0) / PSI == pytest.approx(0.433, abs=6e-4)
    assert gravity_pressure(FOOT) / PSI == pytest.approx(0.5, abs=0.07)


def test_lift_less_drop_counts_as_the_manual_does() -> None:
    """Technician manual, p. 51: 13 ft up and 8 ft down are 5 ft; 2.5 psi by the trade's rounding (15 % more)."""
    up_and_down = gravity_pressure(13 * FOOT) + gravity_pressure(-8 * FOOT)

    assert up_and_down == pytest.approx(gravity_pressure(5 * FOOT), rel=1e-12)
    assert up_and_down / PSI == pytest.approx(2.5, rel=0.15)


def test_a_pint_takes_8_seconds() -> None:
    """2 fl oz/s, a pint in 8 s (course notes; technician manual, p. 17)."""
    seconds = GLASS / POUR_RATE
    assert seconds == pytest.approx(8.0)


@pytest.mark.parametrize(("pitchers", "shortest", "longest"), [(2, 150, 170), (3, 235, 255), (4, 310, 335)])
def test_pitchers_a_tap_show_the_run(pitchers: int, shortest: float, longest: float) -> None:
    """Common practice, no source: 60 fl oz pitchers, 3/8 in: 2 to 3 a tap are 160 to 250 ft, 4 a longer run."""
    feet = pitchers * 60 * OUNCE / line_volume(bore=0.375 * INCH, length=FOOT)

    assert shortest < feet < longest
    assert purge([line_volume(bore=0.375 * INCH, length=feet * FOOT)]).pitchers == pytest.approx(pitchers)


def test_a_pitcher_is_60_ounces() -> None:
    """Common practice, no source."""
    assert pytest.approx(60 * OUNCE) == PITCHER


def test_half_keg_takes_120_btu_a_degree() -> None:
    """Commercial Refrigeration Load Calculations, H-ENGM0408, 2008, Table 9, p. 18: 15.5 gal keg, 120 Btu/degF."""
    joules = 15.5 * 3.785412e-3 * BEER_DENSITY * BEER_SPECIFIC_HEAT

    assert joules / (1055.056 * 1.8) == pytest.approx(120.0, rel=0.01)


def test_pint_of_beer_gives_off_9_69_btu_in_10_degrees() -> None:
    """Calculated beside the same table: 1.0536 lb, 0.92 Btu/(lb degF), 10 degF."""
    joules = GLASS * BEER_DENSITY * BEER_SPECIFIC_HEAT * 10 / 1.8

    assert joules / 1055.056 == pytest.approx(9.69, rel=0.005)
