"""What failures at several units have in common, over HTTP: a batch and a technician, found by the night's search."""

from dataclasses import fields

import pytest

from service.domain.root_causes.fleet_search import FleetCause
from service.schemas.fleet_causes import FleetCauseSchema
from service.schemas.measured_faults import MeasuredFaultSchema
from service.usecases.root_causes import fleet_causes, root_causes

PATH = "/v1/root-causes"
UNITS = tuple(f"GU-{n}" for n in range(9))


def pump(day_of, condition="leaking", **more):
    return {"component": "pump-1", "reason": "failed", "condition": condition, "evidence": "seen"} | more


@pytest.fixture
def with_a_batch(shop):
    """Pumps of one model leak within weeks at five units, all put in by one technician; four of another one run."""
    for code in ("otis", "petra"):
        shop.post("/v1/technicians", {"code": code, "name": code.title()})
    for n, tag in enumerate(UNITS):
        shop.unit(tag)
        bad = n < 5
        item = {"maker": "Tarn", "model": "P9-C" if bad else "P7"}
        who = "otis" if bad else "petra"
        shop.visit("2026-01-12", unit=tag, technician=who, kind="service_call", replacements=[pump(tag, item=item)])
        if bad:
            again = pump(tag, item=item | {"model": "P7"})
            shop.visit("2026-02-16", unit=tag, technician="petra", kind="service_call", replacements=[again])
    root_causes.search_fleet(shop.database, shop.now, gap=lambda: None)
    return shop


def test_a_batch_stands_beside_the_root_causes_of_units_with_all_that_the_contract_names(with_a_batch) -> None:
    (model,) = [each for each in with_a_batch.get(PATH)["fleet"] if each["level"] == "model"]

    assert (model["key"], model["failed"], model["compared"]) == ("Tarn P9-C", 5, 5)
    assert model["units"] == list(UNITS[:5])
    assert model["causes"] == [{"cause": "bad_parts", "probability": 1 - model["probability_of_chance"]}]
    assert "Tarn P9-C" in model["explanation"]
    assert "claim the warranty" in model["remedy"]
    named = {field.name for field in fields(FleetCause)} - {"cause", "places", "made"}
    assert set(model) == set(FleetCauseSchema().fields) == named | {
        "causes", "next_check", "remedy", "bring", "explanation",
    }  # fmt: skip


def test_what_is_said_of_a_technician_is_for_the_office(with_a_batch) -> None:
    def levels(role):
        return {each["level"] for each in with_a_batch.get(PATH, role=role)["fleet"]}

    assert "model" in levels("technician")
    assert "technician" not in levels("technician")


@pytest.mark.parametrize("narrowed", ["unit=GU-0", "customer=lantern", "state=resolved"])
def test_it_is_not_shown_in_a_part_of_the_fleet(with_a_batch, narrowed) -> None:
    assert "fleet" not in with_a_batch.get(f"{PATH}?{narrowed}")


def test_by_tier_and_as_of_a_day_before_it_was_searched(with_a_batch) -> None:
    tier = with_a_batch.get(PATH)["fleet"][0]["tier"]
    other = {"strong", "probable", "watch"} - {tier}

    assert with_a_batch.get(f"{PATH}?tier={tier}")["fleet"] != []
    assert all(each["tier"] in other for name in other for each in with_a_batch.get(f"{PATH}?tier={name}")["fleet"])
    assert with_a_batch.get(f"{PATH}?as_of=2026-03-01")["fleet"] == []


READ = {"quantity": "supply_voltage", "value": "98 V", "when": "as_found"}


@pytest.fixture
def with_low_voltage(shop):
    shop.unit("GU-0")
    shop.unit("GU-1")
    for day in ("2026-01-12", "2026-04-13"):
        shop.visit(day, unit="GU-0", readings=[READ])
        shop.visit(day, unit="GU-1", readings=[READ | {"value": "116 V"}])
    return shop


def test_a_fault_measured_is_shown_at_once_for_its_unit_and_by_night_for_the_fleet(with_low_voltage) -> None:
    shop = with_low_voltage
    (fault,) = shop.get(f"{PATH}?unit=GU-0")["measured"]

    assert (fault["cause"], fault["since"], fault["failed"]) == ("low_voltage", "2026-01-12", {})
    assert "98 V on 2026-04-13" in fault["explanation"]
    assert set(fault) | {"component"} == set(MeasuredFaultSchema().fields)
    assert shop.get(f"{PATH}?unit=GU-1")["measured"] == []
    assert shop.get(PATH)["measured"] == []
    root_causes.search_fleet(shop.database, shop.now, gap=lambda: None)
    assert shop.get(PATH)["measured"] == [fault]
    assert "measured" not in shop.get(f"{PATH}?tier=strong")


def test_where_more_units_have_one_than_are_shown_those_with_most_failures_are(with_low_voltage, monkeypatch) -> None:
    shop = with_low_voltage
    for day in ("2026-01-12", "2026-04-13"):
        shop.visit(day, unit="GU-1", readings=[READ], replacements=[pump("GU-1")])
    monkeypatch.setattr(fleet_causes, "MOST_FAULTS", 1)
    root_causes.search_fleet(shop.database, shop.now, gap=lambda: None)

    assert [each["unit"] for each in shop.get(PATH)["measured"]] == ["GU-1"]


def test_a_fault_measured_as_of_a_day_is_what_was_recorded_by_then(with_low_voltage) -> None:
    shop = with_low_voltage

    assert shop.get(f"{PATH}?unit=GU-0&as_of=2026-06-09")["measured"] != []
    assert shop.get(f"{PATH}?unit=GU-0&as_of=2026-06-08")["measured"] == []  # recorded on 2026-06-09
    assert shop.ask("GET", f"{PATH}?unit=GU-9").status_code == 200
