"""The bench arithmetic over HTTP, against published values with their sources; and what it refuses, by which limits."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from flask import Flask

from service.domain.bench.calculations import CALCULATIONS
from service.settings import Settings
from service.usecases import tokens

from .conftest import MAKER, database_at

BY_NAME = {calculation.name: calculation for calculation in CALCULATIONS}
NAMES = list(BY_NAME)
SYSTEMS = ("si", "us")


class Bench:
    """Asks calculations as a technician."""

    def __init__(self, app: Flask, token: str) -> None:
        self.client, self.headers = app.test_client(), {"Authorization": f"Bearer {token}"}

    def ask(self, name: str, body: Any, units: str = "us") -> Any:
        """The response; `body` may be bytes."""
        data = body if isinstance(body, bytes) else json.dumps(body)
        path = f"/v1/calculations/{name}?units={units}"
        return self.client.post(path, data=data, content_type="application/json", headers=self.headers)

    def calculate(self, name: str, units: str = "us", **body: Any) -> Any:
        """The results for inputs that must have an answer."""
        answer = self.ask(name, body, units)
        assert answer.status_code == 200, answer.text
        return answer.get_json()["results"]

    def refused(self, name: str, **body: Any) -> list[dict[str, Any]]:
        """The faults of inputs that must have no answer."""
        answer = self.ask(name, body)
        assert answer.status_code == 422, answer.text
        return answer.get_json()["errors"]

    def listed(self, units: str = "us") -> list[dict[str, Any]]:
        """The list."""
        answer = self.client.get(f"/v1/calculations?units={units}", headers=self.headers)
        assert answer.status_code == 200, answer.text
        return answer.get_json()["items"]


@pytest.fixture(scope="module")
def bench(tmp_path_factory) -> Iterator[Bench]:
    """The application over an empty database, and a technician."""
    from service.app import create_app

    folder = tmp_path_factory.mktemp("bench")
    settings = Settings(database_url=f"sqlite:///{folder}/fleet.db", home=folder, max_body=100_000)
    with database_at(settings) as database:
        with database.writing() as store:
            token = tokens.create(store, name="tech", role="technician", units_shown="us", actor=MAKER)[1]
        yield Bench(create_app(database, settings, clock=lambda: MAKER.at), token)


@pytest.mark.parametrize("units", SYSTEMS)
@pytest.mark.parametrize("name", NAMES)
def test_each_example_is_answered_as_listed(bench, name, units):
    (listed,) = (each for each in bench.listed(units) if each["name"] == name)
    answer = bench.ask(name, listed["example"]["request"], units).get_json()

    assert answer == listed["example"]["answer"]
    assert answer["method"]
    assert answer["source"]


def test_the_twelve_calculations_are_listed_with_their_inputs(bench):
    listed = bench.listed()

    assert [each["name"] for each in listed] == NAMES
    assert len(listed) == 12
    for each in listed:
        required = {asked["name"] for asked in each["inputs"] if asked["required"]}
        assert required <= set(each["example"]["request"])


@pytest.mark.parametrize("calculation", CALCULATIONS, ids=NAMES)
def test_each_calculation_has_a_purpose_a_method_and_a_source(calculation):
    assert all((calculation.title, calculation.what_for, calculation.method, calculation.source, calculation.example))
    assert calculation.method.endswith(".")


def test_every_calculation_is_a_path_of_the_document_with_exact_fields(bench):
    document = bench.client.get("/openapi.json").get_json()
    for name in NAMES:
        operation = document["paths"][f"/v1/calculations/{name}"]["post"]
        assert operation["requestBody"]["content"]["application/json"]["example"] == BY_NAME[name].example
    assert document["components"]["schemas"]["Saturation"]["additionalProperties"] is False
    assert document["components"]["schemas"]["Saturation"]["required"] == ["refrigerant"]


@pytest.mark.parametrize(
    ("strength", "celsius", "within"),
    [("30 mass%", -12.7, 0.5), ("35 mass%", -16.4, 0.5), ("40 mass%", -21.1, 0.8), ("50 mass%", -33.5, 1.5)],
)
def test_freezing_points_are_those_of_the_table(bench, strength, celsius, within):
    """ASHRAE Handbook of Fundamentals, 2001: freezing points of aqueous solutions of propylene glycol."""
    found = bench.calculate("glycol-properties", "si", strength=strength, temperature="0 degC")["freezing_point"]

    assert found["unit"] == "degC"
    assert found["value"] == pytest.approx(celsius, abs=within)


def test_properties_are_those_of_the_library(bench):
    """CoolProp 8.0.0, INCOMP::MPG[0.35] at 0 °C: 1037.14 kg/m3, 3725.9 J/(kg K), 9.212 mPa s, 0.4079 W/(m K)."""
    found = bench.calculate("glycol-properties", "si", strength="35 mass%", temperature="0 degC")

    assert found["density"] == {"value": pytest.approx(1037.14, rel=1e-4), "unit": "kg/m3"}
    assert found["specific_heat"] == {"value": pytest.approx(3.7259, rel=1e-4), "unit": "kJ/(kg K)"}
    assert found["viscosity"] == {"value": pytest.approx(9.212, rel=1e-3), "unit": "mPa s"}
    assert found["conductivity"] == {"value": pytest.approx(0.4079, rel=1e-3), "unit": "W/(m K)"}


def test_brix_is_read_as_propylene_glycol(bench):
    """A glycol chiller maker's maintenance article, 2019: 35 % (by volume) propylene glycol reads 26.5 Brix, +- 1.5."""
    found = bench.calculate("glycol-properties", strength="26.5 Brix")["volume_fraction"]

    assert found == {"value": pytest.approx(35, abs=1.5), "unit": "vol%"}


def test_an_instrument_that_does_not_compensate_reads_cold_samples_too_strong(bench):
    """Physics of the prism: 0.12 Brix a kelvin at 35 mass% (calculated by the Lorentz-Lorenz rule)."""
    cold = {"strength": "26.5 Brix", "sample_temperature": "10 degC"}
    shares = [bench.calculate("glycol-properties", **cold, compensated=flag)["mass_fraction"] for flag in (True, False)]

    assert [share["value"] for share in shares] == pytest.approx([36.7, 35.0], abs=0.1)


def test_a_mix_keeps_the_balance_of_mass(bench):
    """With equal densities V = V_system (c_t - c) / (1 - c), the trade's form: 38 L, 25 to 35 %: 5.07 L."""
    found = bench.calculate("glycol-mix", "si", volume="38 L", strength="25 mass%", target="35 mass%")

    assert found["pour_in"] == {"value": pytest.approx(5.07, rel=0.03), "unit": "L"}
    assert found["volume_then"]["value"] == pytest.approx(38)


def test_ethylene_glycol_is_warned_about_and_never_mixed(bench):
    answer = bench.ask("glycol-properties", {"strength": "35 mass%", "glycol": "ethylene"}).get_json()
    (fault,) = bench.refused("glycol-mix", volume="38 L", strength="25 mass%", glycol="ethylene")

    assert any("poisonous" in caution for caution in answer["cautions"])
    assert "poisonous" in fault["message"]


def test_twenty_feet_of_quarter_inch_vinyl_take_17_psi(bench):
    """Brewers Association, "Designing For Resistance": 20 ft of 1/4 in vinyl, 17 psi."""
    line = {"tubing": "vinyl", "bore": "0.25 in", "length": "20 ft"}
    (found,) = bench.calculate("line-purge", lines=[line])["lines"]

    assert found["restriction"] == {"value": pytest.approx(17), "unit": "psi"}


def test_two_to_three_pitchers_clear_a_tap_of_some_200_ft(bench):
    """Common practice, no source: two to three 60 fl oz pitchers a tap, 160 to 250 ft of 3/8 in line."""
    found = bench.calculate("line-purge", lines=[{"bore": "0.375 in", "length": "205 ft"}])

    assert 2 < found["pitchers"] < 3


def test_running_beer_off_or_waiting_goes_by_cost(bench):
    lines, money = [{"bore": "0.375 in", "length": "200 ft"}], {"keg_price": 120, "wait": "1 h"}
    open_house = bench.calculate("line-purge", lines=lines, **money, sales_per_hour=100)
    closed_house = bench.calculate("line-purge", lines=lines, **money, sales_per_hour=0)

    assert (open_house["action"], closed_house["action"]) == ("purge", "wait")
    assert open_house["wait_cost"] == 100


def test_beer_that_stood_in_an_uncooled_run_pours_near_the_ground_temperature(bench):
    """Common practice, no source: it leaves a 35 °F cooler and pours near the ground's 60 °F."""
    run = {"place": "ground", "length": "100 ft", "temperature": "60 degF"}
    stood = {"runs": [run], "keg_temperature": "35 degF", "standstill": "12 h"}
    off = bench.calculate("pour-temperature", **stood, glycol_running=False)
    on = bench.calculate("pour-temperature", **stood, glycol_running=True)

    assert off["first"]["value"] == pytest.approx(60, abs=1)
    assert on["first"]["value"] < 35
    # The contact of the tubes is known to a factor of two; the first glass is no more certain.
    assert on["first_coldest"]["value"] <= on["first"]["value"] <= on["first_warmest"]["value"]
    assert on["first_warmest"]["value"] - on["first_coldest"]["value"] > 1.0


def test_heat_gain_of_a_trunk_in_air(bench):
    """Calculated outside this project: 2 in core at 30 °F, 1 in of foam (k 0.25), air of 75 °F: 7.66 Btu/(h ft)."""
    run = {"length": "10 ft", "temperature": "75 degF"}
    found = bench.calculate("heat-gain", core_diameter="2 in", insulation_thickness="1 in", runs=[run])

    assert found["runs"][0]["heat_per_length"] == {"value": pytest.approx(7.66, rel=5e-3), "unit": "Btu/(h ft)"}
    assert found["runs"][0]["surface_temperature"]["value"] == pytest.approx(70.6, abs=0.1)
    assert found["heat"] == {"value": pytest.approx(76.6, rel=5e-3), "unit": "Btu/h"}


@pytest.mark.parametrize(
    ("minutes", "end", "verdict"),
    [(20, "60 degF", "recovering"), (15, "60 degF", "recovering"), (11, "80 degF", "not_cooling")],
)
def test_a_pull_down_is_judged_as_the_trade_does(bench, minutes, end, verdict):
    """Common practice, no source: 80 to 60 °F in 15 to 20 min recovers; no change in 10 min is not cooling."""
    readings = [{"after": "0 min", "temperature": "80 degF"}, {"after": f"{minutes} min", "temperature": end}]

    assert bench.calculate("pull-down", readings=readings)["verdict"] == verdict


@pytest.mark.parametrize(
    ("refrigerant", "field", "temperature", "psig"),
    [("R-134a", "dew_pressure", "100 degF", 124.2), ("R-404A", "bubble_pressure", "20 degF", 56.6)],
)
def test_saturation_is_that_of_the_printed_chart(bench, refrigerant, field, temperature, psig):
    """Pressure-temperature charts that cite NIST REFPROP, +- 0.2 psi."""
    found = bench.calculate("saturation", refrigerant=refrigerant, temperature=temperature)[field]

    assert found == {"value": pytest.approx(psig, abs=0.2), "unit": "psi"}


def test_a_pressure_gives_back_its_temperature_at_any_elevation(bench):
    place = {"refrigerant": "R-134a", "elevation": "5280 ft"}
    gauge = bench.calculate("saturation", **place, temperature="20 degF")["dew_pressure"]
    again = bench.calculate("saturation", **place, pressure=gauge)

    assert again["dew_temperature"]["value"] == pytest.approx(20, abs=1e-3)
    assert gauge["value"] > 18.4  # more than at sea level, where the chart has 18.4 psig


def test_a_flammable_refrigerant_calls_for_caution(bench):
    """ANSI/ASHRAE Standard 34: R-290 is A3."""
    answer = bench.ask("saturation", {"refrigerant": "R-290", "temperature": "20 degF"}).get_json()

    assert answer["results"]["safety_class"] == "A3"
    assert "ignition" in answer["cautions"][0]


def test_superheat_and_subcooling_count_from_the_chart(bench):
    """R-134a chart citing NIST REFPROP: 18.4 psig is 20 °F, 124.2 psig is 100 °F."""
    found = bench.calculate("superheat-subcooling", **BY_NAME["superheat-subcooling"].example)

    assert found["superheat"] == {"value": pytest.approx(12, abs=0.2), "unit": "deltaF"}
    assert found["subcooling"] == {"value": pytest.approx(12, abs=0.2), "unit": "deltaF"}


def test_ten_degrees_more_condensing_cost_capacity_and_power(bench):
    """CoolProp 8.0.0 outside this project: R-134a, 15 °F, 105 to 115 °F: -5.5 %, +9.2 %, +15.6 %."""
    found = bench.calculate("condenser-penalty", **BY_NAME["condenser-penalty"].example)
    changes = [found[name]["value"] for name in ("capacity_change", "power_change", "energy_change")]

    assert changes == pytest.approx([-5.5, 9.2, 15.6], abs=0.1)
    assert found["alarm"] is True


def test_a_20_a_ac_only_switch_is_under_rated_for_16_6_a_of_motors(bench):
    """NEC Table 430.248: 1/2 hp 9.8 A, 1/4 hp 5.8 A at 115 V; 404.14: 80 % of 20 A; 440.12(A): 115 %."""
    motors = [{"rated_power": "0.5 hp"}, {"rated_power": "0.25 hp"}, {"current": "1 A"}]
    found = bench.calculate("switch-load", rated_current="20 A", rating="ac_only", motors=motors)

    assert found["running"]["value"] == pytest.approx(16.6)
    assert found["motor_limit"]["value"] == 16
    assert found["over"] is True
    assert found["smallest_disconnect"]["value"] == pytest.approx(19.09)


def test_a_loop_takes_the_pressure_calculated_outside(bench):
    """Calculated outside: 50 gal/h of 35 % at 28 °F in 200 ft of 3/8 in tube, 24 psi; 100 gal/h: 769 Btu/(h °F)."""
    loop = {"bore": "0.375 in", "length": "200 ft", "strength": "35 mass%", "fittings": "0 %"}
    found = bench.calculate("loop-flow", **loop, flow="50 gal/h")

    assert found["pressure_drop"] == {"value": pytest.approx(24.0, rel=0.01), "unit": "psi"}
    assert found["capacity_rate"] == {"value": pytest.approx(769 / 2, rel=0.01), "unit": "Btu/(h degF)"}


def test_over_strong_glycol_starves_the_loop(bench):
    """Poiseuille: the share of flow is that of the viscosities, 1 to 2.6 (Melinder, 2010, as in CoolProp)."""
    found = bench.calculate("loop-flow", **BY_NAME["loop-flow"].example)

    assert found["flow_share"]["value"] == pytest.approx(100 / 2.64, abs=1)


def test_the_load_adds_up(bench):
    """150 ft x 9.12 + 400 + 233 + 400 = 2401 Btu/h; with 15 % (a brewery chiller guide) 2761."""
    parts = {"trunk": "1368 Btu/h", "tower": "400 Btu/h", "pump_power": "400 Btu/h"}
    found = bench.calculate("unit-load", **parts, poured="15 gal/h", cooled_by="2 deltaF")

    assert found["sum"] == {"value": pytest.approx(2401, rel=2e-3), "unit": "Btu/h"}
    assert found["total"]["value"] == pytest.approx(2761, rel=2e-3)


def test_a_unit_at_its_rated_point_has_its_rated_capacity(bench):
    found = bench.calculate(
        "unit-load", trunk="1450 Btu/h", allowance="0 %", refrigerant="R-134a", rated_cooling="2900 Btu/h"
    )

    assert found["capacity"] == {"value": pytest.approx(2900), "unit": "Btu/h"}
    assert (found["duty"]["value"], found["verdict"]) == (pytest.approx(50), "fits")


def test_defaults_used_are_in_the_answer(bench):
    answer = bench.ask("glycol-properties", {"strength": "35 mass%"}).get_json()

    assert answer["assumed"] == {"temperature": "28 degF", "glycol": "propylene", "compensated": True}


HOT = [{"after": "0 min", "temperature": "400 K"}, {"after": "20 min", "temperature": "290 K"}]
STRAIGHT = [{"after": "0 min", "temperature": "80 degF"}, {"after": "20 min", "temperature": "60 degF"}]
RUN = {"length": "60 ft", "temperature": "75 degF"}
LINE = {"bore": "0.375 in", "length": "100 ft"}
MOTOR = {"current": "5 A"}
LOOP = {"bore": "0.375 in", "length": "200 ft", "strength": "35 mass%"}
CONDENSER = {"refrigerant": "R-134a", "air_in": "80 degF", "clean_split": "25 deltaF", "split": "35 deltaF"}
PAIRS = BY_NAME["superheat-subcooling"].example


# name, body, field at fault, and what the message has to contain
@pytest.mark.parametrize(
    ("name", "body", "field", "message"),
    [
        ("glycol-mix", {"volume": "38 L", "strength": "130 mass%"}, "strength", "from 0 mass% to 60 mass%"),
        ("glycol-mix", {"volume": "-1 L", "strength": "25 mass%"}, "volume", "from 1 L to 10000 L"),
        (
            "glycol-mix",
            {"volume": "40 L", "capacity": "30 L", "strength": "25 mass%"},
            "capacity",
            "from 40 L to 10000 L",
        ),
        ("glycol-properties", {"strength": "130 mass%"}, "strength", "from 0 mass% to 60 mass%"),
        ("glycol-properties", {"strength": "99 Brix"}, "strength", "from -1 Brix to 42 Brix"),
        ("glycol-properties", {"strength": "35 mass%", "temperature": "400 K"}, "temperature", "to 373.15 K"),
        (
            "glycol-properties",
            {"strength": "25 Brix", "sample_temperature": "2 degC"},
            "sample_temperature",
            "from 10 degC",
        ),
        ("line-purge", {"lines": [LINE | {"length": "-20 ft"}]}, "lines.0.length", "from 0 ft to 1640.42 ft"),
        ("line-purge", {"lines": [LINE, LINE | {"bore": "0 in"}]}, "lines.1.bore", "from 0.125 in to 2 in"),
        ("pour-temperature", {"runs": [RUN], "standstill": "-1 h"}, "standstill", "from 0 h to 2400 h"),
        ("heat-gain", {"runs": [RUN | {"length": "-1 ft"}]}, "runs.0.length", "from 0 ft"),
        ("heat-gain", {"runs": [RUN], "humidity": "0 %"}, "humidity", "from 1 % to 100 %"),
        ("pull-down", {"readings": HOT}, "readings.0.temperature", "from 233.15 K to 333.15 K"),
        ("saturation", {"refrigerant": "R-134a", "temperature": "400 K"}, "temperature", "from 213.15 K to 343.15 K"),
        ("saturation", {"refrigerant": "R-134a", "pressure": "500 psi"}, "pressure", " psi to 292."),
        (
            "superheat-subcooling",
            PAIRS | {"liquid_pressure": "500 psi"},
            "liquid_pressure",
            " psi to 292.",
        ),
        (
            "superheat-subcooling",
            PAIRS | {"suction_pressure": "2000 psi"},
            "suction_pressure",
            "from -14.6 psi to 870 psi",
        ),
        ("condenser-penalty", CONDENSER | {"clean_split": "1 deltaF"}, "clean_split", "from 5.4 deltaF to 72 deltaF"),
        ("switch-load", {"rated_current": "0 A", "motors": [MOTOR]}, "rated_current", "from 1 A to 200 A"),
        ("switch-load", {"rated_current": "20 A", "supply_voltage": "0 V"}, "supply_voltage", "from 12 V to 1000 V"),
        ("loop-flow", LOOP | {"length": "-5 ft", "flow": "50 gal/h"}, "length", "from 0.328084 ft"),
        ("unit-load", {"bath": "400 K"}, "bath", "from 258.15 K to 305.15 K"),
        ("glycol-properties", {"strength": 35}, "strength", "no unit"),
        ("glycol-properties", {"strength": "130 %"}, "strength", "from 0 mass% to 60 mass%"),
        ("glycol-properties", {"strength": "NaN mass%"}, "strength", "from 0 mass% to 60 mass%"),
        ("switch-load", {"rated_current": "20 A", "supply_voltage": "0 %"}, "supply_voltage", "from 12 V to 1000 V"),
        ("saturation", {"refrigerant": "R-999", "temperature": "20 degF"}, "refrigerant", "R-134a"),
        ("saturation", {"refrigerant": "R-134a"}, "temperature", "give this or pressure"),
        ("heat-gain", {"runs": []}, "runs", "between 1 and 50"),
        ("pull-down", {"readings": [STRAIGHT[1], STRAIGHT[0], STRAIGHT[0]]}, "readings.2.after", "time of another"),
        ("switch-load", {"rated_current": "20 A", "motors": [{}]}, "motors.0.current", "rated_power"),
        ("loop-flow", LOOP, "flow", "pump_pressure"),
        ("loop-flow", LOOP | {"flow": "1 gal/h", "pump_pressure": "9 psi"}, "flow", "pump_pressure"),
        ("condenser-penalty", CONDENSER | {"condensing": "110 degF"}, "condensing", "give one of"),
        ("unit-load", {"rated_cooling": "2900 Btu/h"}, "refrigerant", "required"),
        ("glycol-properties", {"strength": "25 Brix", "compensated": False}, "sample_temperature", "required"),
        ("glycol-mix", {"volume": "38 L", "strength": "25 mass%", "colour": "pink"}, "colour", "Unknown"),
    ],
)
def test_what_is_out_of_range_unreadable_or_incomplete_is_refused_by_its_field(bench, name, body, field, message):
    (fault,) = bench.refused(name, **body)

    assert fault["field"] == field
    assert message in fault["message"]


def test_a_nan_is_refused_by_its_place(bench):
    answer = bench.ask("glycol-properties", b'{"strength": {"value": NaN, "unit": "mass%"}}')

    assert answer.status_code == 422
    assert answer.get_json()["errors"][0]["field"] == "strength.value"


def test_a_fluid_that_cannot_bring_the_target_is_refused(bench):
    (fault,) = bench.refused("glycol-mix", volume="38 L", strength="25 mass%", target="35 mass%", poured="30 mass%")

    assert (fault["field"], "35 mass% to 100 mass%" in fault["message"]) == ("poured", True)


@pytest.mark.parametrize(
    ("name", "body"),
    [
        ("glycol-properties", {"strength": "60 mass%", "temperature": "100 degC"}),
        ("heat-gain", {"runs": [RUN | {"temperature": "-40 degC"}]}),  # 233.15 K, which -40 degC misses by 3e-14
        ("heat-gain", {"runs": [RUN | {"temperature": "-40 degF"}], "humidity": "1 %"}),
        ("condenser-penalty", CONDENSER | {"clean_split": "5.4 deltaF"}),
    ],
)
def test_a_limit_itself_is_accepted(bench, name, body):
    assert bench.ask(name, body).status_code == 200


def test_a_token_is_needed(bench):
    assert bench.client.get("/v1/calculations").status_code == 401


def test_readings_of_a_pull_down_are_sorted_by_time(bench: Bench) -> None:
    first, second = STRAIGHT

    assert bench.calculate("pull-down", readings=[second, first]) == bench.calculate(
        "pull-down", readings=[first, second]
    )


def test_a_mix_of_ethylene_glycol_is_refused_with_the_danger_and_not_listed(bench: Bench) -> None:
    (fault,) = bench.refused("glycol-mix", volume="38 L", strength="35 mass%", glycol="ethylene")

    assert (fault["field"], "poisonous" in fault["message"]) == ("glycol", True)
