"""The trade's judgements of a bath and of warm beer: common practice, no source, each marked so."""

import pytest

from service.domain.physics.bath.heat import bath_heat_capacity, cooling_power, heat_removed
from service.domain.physics.bath.pull_down import fit_pull_down
from service.domain.physics.bath.pull_down_verdict import Because, Verdict, judge_pull_down
from service.domain.physics.lines.trunk import Bundle, Run
from service.domain.physics.lines.trunk_pour import Glasses, Line, pour_after_standstill
from service.domain.physics.refrigeration.capacity import capacity_share
from service.domain.physics.refrigeration.gauges import Gauges, advise_gauges, hose_charge, share_of_charge

OUNCE = 2.95735296e-5


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8 + 273.15


SET_POINT = kelvin(28)


@pytest.mark.parametrize("minutes", [15, 20])
def test_80_to_60_degf_in_15_to_20_minutes_reads_as_recovering(minutes: float) -> None:
    """Common practice, no source."""
    fit = fit_pull_down([0.0, minutes * 60.0], [kelvin(80), kelvin(60)])

    assert judge_pull_down(fit, set_point=SET_POINT).verdict == Verdict.RECOVERING


@pytest.mark.parametrize("end", [80.0, 79.5, 80.4])
def test_no_noticeable_change_in_10_minutes_reads_as_not_cooling(end: float) -> None:
    """Common practice, no source."""
    fit = fit_pull_down([0.0, 600.0], [kelvin(80), kelvin(end)])

    assert judge_pull_down(fit, set_point=SET_POINT).verdict == Verdict.NOT_COOLING


def test_no_change_in_5_minutes_is_too_early_to_judge() -> None:
    """Common practice, no source: 10 min are waited for."""
    fit = fit_pull_down([0.0, 300.0], [kelvin(80), kelvin(80)])

    assert judge_pull_down(fit, set_point=SET_POINT).verdict == Verdict.TOO_EARLY


def test_20_degf_in_20_minutes_is_a_common_unit_at_its_rating() -> None:
    """Common practice, no source: 38 L of 35 % glycol and 15 kg of steel, a unit of 2900 Btu/h at 28 degF."""
    capacity = bath_heat_capacity(glycol_volume=0.038, density=1037.14, specific_heat=3725.9, metal_mass=15.0)
    fit = fit_pull_down([0.0, 1200.0], [kelvin(80), kelvin(60)])
    expected = 2900 * 0.2930711 * capacity_share(None, rated_bath=kelvin(28), bath=kelvin(70))
    share = cooling_power(heat_capacity=capacity, rate=fit.mean_rate.value) / expected

    judgement = judge_pull_down(fit, set_point=SET_POINT, share=share)
    assert (judgement.verdict, judgement.because) == (Verdict.RECOVERING, Because.SHARE_OF_RATING)
    assert 0.8 < share < 1.1


def test_heat_of_a_bath_is_mass_times_specific_heat() -> None:
    """Glycol heat balance: 500 x 461.7 / 500 Btu/h per gpm degF at 35 % mass; here 10 gal by 20 degF, no metal."""
    capacity = bath_heat_capacity(glycol_volume=10 * 3.785412e-3, density=1037.5, specific_heat=3723.0)
    heat = heat_removed(heat_capacity=capacity, start=kelvin(80), end=kelvin(60))

    assert heat / 1055.056 == pytest.approx(461.7 / 60 * 10 * 20, rel=5e-3)


def test_a_colder_bath_costs_capacity_about_as_a_load_sheet_has_it() -> None:
    """Process chiller load sheet: 2 % per degF below 50 degF leaving temperature, of the capacity at 50 degF."""
    warm, cold = (capacity_share(None, rated_bath=kelvin(28), bath=kelvin(bath)) for bath in (50, 40))

    assert cold / warm == pytest.approx(0.80, abs=0.08)


def test_vapour_in_a_hose_is_a_thousandth_of_a_300_g_charge() -> None:
    """R-134a saturated vapour at 20 degF, 11.3 kg/m3 (tables, from memory); judged harmless."""
    share = share_of_charge(held=hose_charge(density=11.3), charge=0.3)

    assert share == pytest.approx(1.1e-3, abs=1e-4)


def test_slow_capillary_unit_with_low_side_port_only_keeps_gauges_for_last() -> None:
    """Common practice, no source: tiny charge, low-side port only, no gauges."""
    assert advise_gauges(verdict=Verdict.SLOW, share=0.001, capillary=True, low_side_only=True) == Gauges.LAST_RESORT


def test_beer_that_stood_in_an_uncooled_underground_run_pours_near_the_grounds_temperature() -> None:
    """Common practice, no source: out of a 35 degF cooler, ground at 60 degF, overnight, glycol off."""
    line = Line(bore=0.009525, conductance=1.0, rest_heat_capacity=1500.0, keg=kelvin(35), start=kelvin(35))
    poured = pour_after_standstill(
        [Run(36.6, kelvin(60), 3.0)],
        Bundle(1.0, 1.0),
        line,
        glasses=Glasses(count=12, volume=16 * OUNCE, flow=2 * OUNCE),
        standstill=12 * 3600.0,
        glycol=None,
    )

    assert poured.glasses[0] == pytest.approx(kelvin(60), abs=0.6)
    assert poured.glasses[-1] < poured.glasses[0] - 5.0
