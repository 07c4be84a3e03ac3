"""A unit's condition over HTTP: latest readings, trends, derived figures, and missing data."""

from datetime import date, timedelta

import pytest
from scipy.stats import theilslopes

FIRST = date(2026, 1, 5)


def condition(shop, units="us", tag="GU-0007"):
    return shop.get(f"/v1/units/{tag}/condition?units={units}")


def one(shown, **wanted):
    (found,) = (each for each in shown if all(each[name] == value for name, value in wanted.items()))
    return found


def reading(quantity, value, when="as_found", **more):
    return {"quantity": quantity, "value": value, "when": when, **more}


def visits(shop, *, days, **of_readings):
    """A visit every so many days, each with the next value of every quantity."""
    for number, values in enumerate(zip(*of_readings.values(), strict=True)):
        shown = [reading(quantity, value) for quantity, value in zip(of_readings, values, strict=True)]
        shop.visit((FIRST + timedelta(days=days * number)).isoformat(), readings=shown)


def test_the_latest_reading_is_reported_with_its_instant_and_visit(shop) -> None:
    shop.unit()
    shop.post("/v1/visits", shop.example("visit"))
    shown = one(condition(shop)["readings"], quantity="bath_temperature")

    assert shown["as_found"] == {
        "value": {"value": 47, "unit": "degF", "entered": "47 degF"},
        "at": "2026-06-09T13:15:00-06:00",
        "visit": shop.example("visit")["id"],
        "evidence": "seen",
        "before": None,
        "change": None,
    }
    assert shown["as_left"]["value"]["entered"] == "38 degF"


def test_the_reading_before_and_the_change_are_reported(shop) -> None:
    shop.unit()
    visits(shop, days=30, bath_temperature=["28 degF", "30 degF", "35 degF"])
    found = one(condition(shop)["readings"], quantity="bath_temperature")["as_found"]

    assert found["before"]["value"]["entered"] == "30 degF"
    assert found["change"] == {"value": pytest.approx(5), "unit": "deltaF"}
    assert one(condition(shop, "si")["readings"], quantity="bath_temperature")["as_found"]["change"]["unit"] == "deltaC"


def test_each_component_and_tap_has_its_own_latest_reading(shop) -> None:
    shop.unit()
    shown = [
        reading("current", "5 A", component="pump-1"),
        reading("current", "1 A", component="fan-1"),
        reading("beer_temperature_at_tap", "37 degF", tap="1"),
        reading("beer_temperature_at_tap", "39 degF", tap="2"),
    ]
    shop.visit("2026-06-01", readings=shown)
    found = {
        (each["quantity"], each["component"], each["tap"]): each["as_found"]["value"]["entered"]
        for each in condition(shop)["readings"]
    }

    assert found == {
        ("current", "pump-1", None): "5 A",
        ("current", "fan-1", None): "1 A",
        ("beer_temperature_at_tap", None, "1"): "37 degF",
        ("beer_temperature_at_tap", None, "2"): "39 degF",
    }


def test_readings_reported_in_different_ways_have_no_change(shop) -> None:
    shop.unit()
    visits(shop, days=30, glycol_strength=["35 mass%", "20 degF"])

    assert one(condition(shop)["readings"], quantity="glycol_strength")["as_found"]["change"] is None


def test_a_voided_visit_does_not_count(shop) -> None:
    shop.unit()
    visits(shop, days=30, bath_temperature=["28 degF"])
    void = shop.visit("2026-06-01", readings=[reading("bath_temperature", "60 degF")])["visit"]
    shop.ask("POST", f"/v1/visits/{void['id']}/void", {"reason": "wrong unit"}, If_Match='"1"')
    found = one(condition(shop)["readings"], quantity="bath_temperature")["as_found"]

    assert found["value"]["entered"] == "28 degF"


def test_a_drift_is_reported_in_30_days_with_its_limits(shop) -> None:
    """Reference: scipy.stats.theilslopes, 95 %."""
    shop.unit()
    beer = [37, 38.2, 37.9, 39.4, 40.1, 40.0, 41.7]
    visits(shop, days=20, bath_temperature=[f"{value} degF" for value in beer])
    found = one(condition(shop)["trends"], of="bath_temperature")
    expected = theilslopes(beer, [20 * n for n in range(len(beer))], alpha=0.95)

    assert found["per_30_days"] == {"value": pytest.approx(30 * expected.slope, rel=1e-4), "unit": "deltaF"}
    assert found["low"]["value"] == pytest.approx(30 * expected.low_slope, rel=1e-4)
    assert found["high"]["value"] == pytest.approx(30 * expected.high_slope, rel=1e-4)
    assert (found["direction"], found["readings"]) == ("rising", 7)


def test_fewer_than_four_readings_are_too_few_for_a_trend(shop) -> None:
    shop.unit()
    visits(shop, days=20, bath_temperature=["28 degF", "29 degF", "30 degF"])
    found = one(condition(shop)["trends"], of="bath_temperature")

    assert (found["direction"], found["per_30_days"], found["readings"]) == ("too_few", None, 3)


def test_the_bath_as_left_is_no_part_of_its_trend(shop) -> None:
    shop.unit()
    visits(shop, days=20, bath_temperature=["28 degF"] * 4)
    shop.visit("2026-06-01", readings=[reading("bath_temperature", "60 degF", "as_left")])

    assert one(condition(shop)["trends"], of="bath_temperature")["readings"] == 4


def test_glycol_reported_in_different_ways_makes_one_trend_by_mass(shop) -> None:
    shop.unit()
    visits(shop, days=30, glycol_strength=["36 mass%", "34 vol%", "3 degF", "33 mass%"])
    found = one(condition(shop)["trends"], of="glycol_strength")

    assert (found["latest"], found["readings"]) == ({"value": 33, "unit": "mass%"}, 4)
    assert found["per_30_days"] == {"value": pytest.approx(-1, abs=0.3), "unit": "mass%"}


def test_strength_freezing_point_and_margin_follow_from_brix(shop) -> None:
    """ASHRAE Handbook of Fundamentals, 2001: 35 mass% freezes at -16.4 degC (2.5 degF); 25.4 Brix by Lorentz-Lorenz."""
    shop.unit()
    shown = reading("glycol_strength", "25.4 Brix", sample_temperature="20 degC")
    shop.visit("2026-06-01", readings=[shown])
    derived = condition(shop)["derived"]
    strength, margin = one(derived, of="glycol_strength"), one(derived, of="freeze_margin")

    assert strength["value"] == {"value": pytest.approx(35, abs=0.2), "unit": "mass%"}
    assert strength["beside"]["value"] == 35
    assert one(derived, of="glycol_freezing_point")["value"]["value"] == pytest.approx(2.5, abs=0.9)
    assert margin["beside"] == {"value": pytest.approx(13), "unit": "degF"}  # the set point less 15 degF
    assert margin["value"]["value"] == pytest.approx(10.5, abs=0.9)


def test_the_split_is_held_against_the_unit_s_own_clean_one(shop) -> None:
    """R-134a chart citing NIST REFPROP: 171.2 psig is 120 degF; clean split 25 degF, 10 degF over it is the alarm."""
    shop.unit()
    shown = {"discharge_pressure": ["171.2 psi"], "condenser_air_in_temperature": ["75 degF"]}
    visits(shop, days=1, **shown, condenser_air_out_temperature=["91 degF"])
    found = condition(shop)
    split = one(found["derived"], of="condenser_split")

    assert split["value"] == {"value": pytest.approx(45, abs=0.1), "unit": "deltaF"}
    assert split["difference"]["value"] == pytest.approx(20, abs=0.1)
    assert one(found["derived"], of="condenser_air_rise")["value"]["value"] == pytest.approx(16)
    assert [worry["code"] for worry in found["worries"]] == ["condenser_split_high"]


def test_a_current_is_reported_as_a_share_of_its_rating(shop) -> None:
    shop.unit()
    shop.visit("2026-06-01", readings=[reading("current", "6.38 A", component="pump-1")])
    found = condition(shop)

    assert one(found["derived"], of="current_share", component="pump-1")["value"] == {"value": 110, "unit": "%"}
    assert one(found["worries"], code="current_over_rating")["component"] == "pump-1"


def test_the_supply_is_held_against_the_nameplate(shop) -> None:
    """NEMA MG 1: 10 % either side; 102 V on 115 V is 11.3 % low."""
    shop.unit()
    visits(shop, days=1, supply_voltage=["102 V"])
    found = condition(shop)

    assert one(found["derived"], of="supply_voltage_deviation")["value"]["value"] == pytest.approx(-11.3, abs=0.05)
    assert [worry["code"] for worry in found["worries"]] == ["voltage_off"]


def test_ethylene_glycol_in_the_record_is_a_worry_by_itself(shop) -> None:
    shop.unit(bath={"glycol": "ethylene"})

    assert [worry["code"] for worry in condition(shop)["worries"]] == ["ethylene_glycol"]


def test_a_worry_stays_until_a_later_visit_has_looked_again(shop) -> None:
    shop.unit()
    visits(shop, days=10, supply_voltage=["102 V"])
    shop.visit("2026-06-01", readings=[reading("bath_temperature", "30 degF")])
    assert [worry["code"] for worry in condition(shop)["worries"]] == ["voltage_off"]

    shop.visit("2026-06-02", readings=[reading("supply_voltage", "118 V")])
    assert condition(shop)["worries"] == []


def test_frost_that_was_read_stays_a_worry_until_it_is_read_again_and_frost_seen_for_one_visit(shop) -> None:
    shop.unit()
    visits(shop, days=10, frost_distance_after_capillary=["-1 in"])
    shop.visit("2026-06-01", readings=[reading("bath_temperature", "30 degF")])
    assert [worry["code"] for worry in condition(shop)["worries"]] == ["frost_on_capillary"]

    shop.visit("2026-06-02", readings=[reading("frost_distance_after_capillary", "2 in")])
    assert condition(shop)["worries"] == []

    shop.visit("2026-06-03", observations=[{"code": "frost_on_capillary"}])
    assert [worry["code"] for worry in condition(shop)["worries"]] == ["frost_on_capillary"]

    shop.visit("2026-06-04", readings=[reading("bath_temperature", "30 degF")])
    assert condition(shop)["worries"] == []


def test_pressures_at_rest_are_no_part_of_the_split_s_trend(shop) -> None:
    """R-134a at rest over a bath of 29 degF: both gauges at 25 psi (CoolProp 8)."""
    shop.unit()
    air = {"condenser_air_in_temperature": ["75 degF"] * 3}
    visits(shop, days=10, discharge_pressure=["124.2 psi"] * 3, suction_pressure=["16 psi"] * 3, **air)
    rest = [reading("discharge_pressure", "25 psi"), reading("suction_pressure", "25 psi"),
            reading("condenser_air_in_temperature", "75 degF")]  # fmt: skip
    shop.visit("2026-06-01", readings=rest)

    assert one(condition(shop)["trends"], of="condenser_split")["readings"] == 3


def test_the_site_s_elevation_counts_in_the_split(shop) -> None:
    """Standard atmosphere at 5280 ft: 12.10 psi, so 124.2 psi is 2.6 psi less than at sea level, some 1.2 degF."""
    shop.unit()
    visits(shop, days=10, discharge_pressure=["124.2 psi"], condenser_air_in_temperature=["75 degF"])
    low = one(condition(shop)["derived"], of="condenser_split")["value"]["value"]
    site = shop.ask("GET", "/v1/sites/lantern-quay")
    shop.ask("PATCH", "/v1/sites/lantern-quay", {"elevation": "5280 ft"}, If_Match=site.headers["ETag"])

    assert one(condition(shop)["derived"], of="condenser_split")["value"]["value"] == pytest.approx(low - 1.2, abs=0.15)


def test_a_unit_never_visited_reports_what_is_missing(shop) -> None:
    shop.unit()
    found = condition(shop)
    gaps = {(gap["of"], gap["component"], gap["tap"]) for gap in found["missing"]}

    assert (found["readings"], found["trends"], found["derived"]) == ([], [], [])
    assert {("bath_temperature", None, None), ("current", "pump-1", None), ("current", "fan-1", None)} <= gaps
    assert {("beer_temperature_at_tap", None, "1"), ("condenser_split", None, None)} <= gaps
    assert ("current_share", "fan-1", None) in gaps
    assert ("current_share", "pump-1", None) not in gaps


@pytest.mark.parametrize(
    "shown",
    [
        reading("glycol_strength", "24 Brix"),
        reading("glycol_strength", "24 Brix", sample_temperature="2 degC"),
        reading("glycol_strength", "80 mass%"),
    ],
)
def test_a_strength_that_cannot_be_calculated_is_missing_with_its_reason(shop, shown) -> None:
    shop.unit()
    shop.visit("2026-06-01", readings=[shown])
    found = condition(shop)

    assert "sample" in one(found["missing"], of="glycol_strength")["why"]
    assert [each for each in found["derived"] if each["of"] == "glycol_strength"] == []


def test_there_is_no_condition_of_a_unit_that_is_not_there(shop) -> None:
    assert shop.ask("GET", "/v1/units/GU-9/condition", role="technician").status_code == 404


def forecasts(shop, of="bath_level", units="us"):
    return [each for each in condition(shop, units)["forecasts"] if each["of"] == of]


def test_a_falling_level_has_days_on_which_its_limit_is_reached(shop) -> None:
    shop.unit()
    visits(shop, days=30, bath_level=["100 %", "97 %", "95 %", "92 %"])
    (found,) = forecasts(shop)

    assert (found["state"], found["by"], found["readings"]) == ("drifting", "readings", 4)
    assert found["limit"] == {"value": 85, "unit": "%"}
    assert found["per_30_days"]["value"] == pytest.approx(-2.5, abs=0.6)
    assert "2026-05-01" < found["low"] < found["likely"] < found["high"]
    # at 2.6 % in 30 days the remaining 7 % take 81 days; what is usual without a fleet is slower
    assert date.fromisoformat(found["likely"]) - date(2026, 4, 5) == pytest.approx(
        timedelta(days=81), abs=timedelta(40)
    )
    for part in (
        "4 readings",
        "2026-01-05",
        "2026-04-05",
        "limit 85 %",
        "in 30 days",
        f"10 % chance of reaching it by {found['low']}",
    ):
        assert part in found["sentence"]


def test_one_reading_is_forecast_by_the_fleet_and_says_so(shop) -> None:
    shop.unit()
    visits(shop, days=30, bath_level=["95 %"])
    (found,) = forecasts(shop)
    assert (found["by"], found["readings"]) == ("fleet", 1)
    assert "1 reading on 2026-01-05" in found["sentence"]
    assert "too few readings for a rate of its own" in found["sentence"]


def test_a_refill_and_a_correction_begin_anew(shop) -> None:
    shop.unit()
    visits(shop, days=30, bath_level=["100 %", "94 %", "88 %", "100 %", "99 %"])
    (found,) = forecasts(shop)
    assert (found["readings"], found["since"][:10]) == (2, "2026-04-05")

    done = [{"task": "glycol_change", "result": "done"}]
    shop.visit("2026-06-01", tasks=done, readings=[reading("bath_level", "97 %", "as_left")])
    (found,) = forecasts(shop)
    assert (found["readings"], found["since"][:10]) == (1, "2026-06-01")


def test_topping_up_during_a_visit_begins_anew_with_what_was_left(shop) -> None:
    """5 % more than found is no scatter of two readings made within an hour."""
    shop.unit()
    visits(shop, days=30, bath_level=["100 %", "95 %"])
    shop.visit("2026-05-01", readings=[reading("bath_level", "90 %"), reading("bath_level", "95 %", "as_left")])
    (found,) = forecasts(shop)
    assert (found["readings"], found["since"][:10], found["latest"]["value"]) == (1, "2026-05-01", 95)


def test_what_is_past_its_limit_is_crossed(shop) -> None:
    shop.unit()
    visits(shop, days=30, bath_level=["90 %", "82 %", "75 %"])
    (found,) = forecasts(shop)
    assert found["state"] == "crossed"
    assert found["sentence"].endswith("it has probably been reached.")


def test_what_does_not_drift_is_steady(shop) -> None:
    shop.unit()
    visits(shop, days=21, bath_level=["100 %"] * 8)
    (found,) = forecasts(shop)
    assert (found["state"], found["low"], found["likely"], found["high"]) == ("steady", None, None, None)
    assert "steady" in found["sentence"]


def test_readings_of_another_operating_state_are_not_forecast(shop) -> None:
    """R-134a at rest over a bath of 29 degF, as above: far below the clean split, which is no drift back."""
    shop.unit()
    air = {"condenser_air_in_temperature": ["75 degF"] * 3}
    visits(shop, days=30, discharge_pressure=["124 psi", "132 psi", "140 psi"], suction_pressure=["16 psi"] * 3, **air)
    (running,) = forecasts(shop, "condenser_split_excess")
    rest = [reading("discharge_pressure", "25 psi"), reading("suction_pressure", "25 psi"),
            reading("condenser_air_in_temperature", "75 degF")]  # fmt: skip
    shop.visit("2026-04-05", readings=rest)

    assert running["readings"] == 3
    assert forecasts(shop, "condenser_split_excess") == [running]


def test_a_cleaning_begins_the_condenser_anew(shop) -> None:
    shop.unit()
    air = {"condenser_air_in_temperature": ["75 degF"] * 3}
    visits(shop, days=30, discharge_pressure=["124 psi", "132 psi", "140 psi"], suction_pressure=["16 psi"] * 3, **air)
    left = [reading("discharge_pressure", "124 psi", "as_left"), reading("suction_pressure", "16 psi", "as_left"),
            reading("condenser_air_in_temperature", "75 degF", "as_left")]  # fmt: skip
    shop.visit("2026-04-05", readings=left, tasks=[{"task": "condenser_clean", "result": "done", "as_found": "heavy"}])
    (found,) = forecasts(shop, "condenser_split_excess")
    assert (found["readings"], found["since"][:10], found["by"]) == (1, "2026-04-05", "earlier")
    assert "so that from before the last correction is taken" in found["sentence"]


def test_a_head_held_up_in_winter_is_no_dirt(shop) -> None:
    """R-134a at 105 psi condenses at 90 degF (pressure-temperature chart): by a control in air of 20 degF."""
    shop.unit()
    air = {"condenser_air_in_temperature": ["75 degF", "75 degF", "20 degF"]}
    visits(shop, days=30, discharge_pressure=["124 psi", "126 psi", "105 psi"], suction_pressure=["16 psi"] * 3, **air)
    (found,) = forecasts(shop, "condenser_split_excess")
    assert (found["readings"], found["state"]) == (2, "drifting")
    assert one(condition(shop)["trends"], of="condenser_split")["readings"] == 2


def test_the_current_of_a_compressor_in_a_warm_bath_is_not_compared(shop) -> None:
    """A steady cycle draws a sixth more in a bath of 70 degF than near the set point, without any drift."""
    rated = {"pump-1": ("pump", "5.8 A"), "compressor-1": ("compressor", "9.8 A")}
    parts = [{"code": code, "kind": kind, "rated_current": most} for code, (kind, most) in rated.items()]
    shop.unit(components=parts)
    for day, bath, current in (("2026-01-05", 29, 8.0), ("2026-02-05", 29, 8.1), ("2026-03-05", 70, 9.4)):
        shown = [reading("bath_temperature", f"{bath} degF"), reading("current", "5 A", component="pump-1"),
                 reading("current", f"{current} A", component="compressor-1")]  # fmt: skip
        shop.visit(day, readings=shown)
    found = {each["component"]: each["readings"] for each in forecasts(shop, "current_share")}
    assert found == {"compressor-1": 2, "pump-1": 3}


def test_motors_without_power_show_no_drift(shop) -> None:
    shop.unit()
    visits(shop, days=30, bath_temperature=["29 degF", "29 degF"])
    dead = [reading("supply_voltage", "0 V"), reading("current", "0 A", component="pump-1"),
            reading("bath_temperature", "60 degF")]  # fmt: skip
    shop.visit("2026-04-05", readings=dead)
    assert forecasts(shop, "current_share") == []


def test_a_warm_bath_does_not_show_the_coil_of_a_cold_one(shop) -> None:
    """35 mass% freezes at 2.5 degF (ASHRAE): 11.5 degF under a coil that is 15 degF under a bath of 29 degF."""
    shop.unit(bath={"volume": "10 gal"})
    first = [reading("glycol_strength", "35 mass%"), reading("bath_temperature", "29 degF")]
    shop.visit("2026-01-05", readings=first)
    shop.visit("2026-02-05", readings=[reading("glycol_strength", "35 mass%"), reading("bath_temperature", "65 degF")])
    (found,) = forecasts(shop, "freeze_margin")
    assert found["latest"]["value"] == pytest.approx(11.5, abs=0.9)
    assert one(condition(shop)["derived"], of="freeze_margin")["value"]["value"] == pytest.approx(11.5, abs=0.9)
