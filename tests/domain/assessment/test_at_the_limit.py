"""A figure exactly at its limit gives one answer, whatever numbers it is the difference, product or ratio of."""

import pytest


def codes(findings, readings, **known):
    return set(findings(*readings, known=known))


@pytest.mark.parametrize("supply", range(20, 40))
def test_a_rise_of_six_fahrenheit_is_a_loop_that_flows(findings, supply):
    readings = [f"glycol_supply_temperature {supply} degF", f"glycol_return_temperature {supply + 6} degF"]

    assert codes(findings, readings) & {"loop_rise_good", "loop_rise_high"} == {"loop_rise_good"}


@pytest.mark.parametrize("tenths", [30, 35, 60, 70, 85, 100])
def test_two_fifths_of_the_nameplate_are_not_light(findings, tenths):
    compressor = {"code": "comp-1", "kind": "compressor", "rated_current": f"{tenths / 10} A"}
    found = codes(findings, [f"current[comp-1] {tenths * 4 / 100} A"], components=[compressor])

    assert found & {"current_light", "currents_good"} == {"currents_good"}


@pytest.mark.parametrize("tenths", [21, 22, 26, 27, 32, 40])
def test_three_times_the_nameplate_is_a_rotor_that_stands(findings, tenths):
    fan = {"code": "fan-1", "kind": "condenser_fan", "rated_current": f"{tenths / 10} A"}
    found = codes(findings, [f"current[fan-1] {tenths * 3 / 10} A"], components=[fan])

    assert found & {"rotor_locked", "current_over_rating"} == {"rotor_locked"}


@pytest.mark.parametrize("target", range(28, 45))
@pytest.mark.parametrize("off", [-3, 3])
def test_three_points_beside_the_target_are_in_order(findings, target, off):
    found = codes(findings, [f"glycol_strength {target + off} mass%"], bath={"target_strength": f"{target} mass%"})

    assert found & {"glycol_strength_good", "glycol_off_target"} == {"glycol_strength_good"}


@pytest.mark.parametrize("air", range(60, 100, 3))
def test_thirty_fahrenheit_through_the_condenser_are_usual(findings, air):
    readings = [f"condenser_air_in_temperature {air} degF", f"condenser_air_out_temperature {air + 30} degF"]

    assert "air_rise_high" not in codes(findings, readings)


@pytest.mark.parametrize("set_point", [-3, -2, -1])
@pytest.mark.parametrize("differential", [1.1, 1.3, 1.9, 2.6])
def test_a_bath_as_warm_as_its_controller_and_thermometer_allow_is_not_warm(findings, set_point, differential):
    bath = {"set_point": f"{set_point} degC", "differential": f"{differential} deltaC"}
    found = codes(findings, [f"bath_temperature {round(set_point + differential + 0.6, 1)} degC"], bath=bath)

    assert "bath_warm" not in found


@pytest.mark.parametrize("first", range(60, 100, 4))
def test_six_tenths_of_the_trades_rate_are_recovering(findings, first):
    """12 °F in 20 min, where 20 °F are expected of a bath above 50 °F."""
    found = codes(findings, [f"bath_temperature {first} degF @0", f"bath_temperature {first - 12} degF @20"])

    assert found & {"pull_down_recovering", "pull_down_slow"} == {"pull_down_recovering"}


@pytest.mark.parametrize("cooler", range(30, 40))
def test_beer_seven_tenths_of_the_way_to_its_surroundings_stood_uncooled(findings, cooler):
    run = {"surroundings": "indoor", "length": "100 ft", "temperature": f"{cooler + 40} degF"}
    readings = [f"cooler_temperature {cooler} degF", f"beer_temperature_at_tap[1] {cooler + 28} degF"]

    assert "beer_stands_uncooled" in codes(findings, readings, trunks=[{"code": "trunk-1", "runs": [run]}])
