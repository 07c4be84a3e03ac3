"""The invented fleet is whole, believable and full for any day. The word lists below are typed from the contract."""

import importlib.util
import json
import random
import re
import subprocess
import sys
from collections import Counter, defaultdict
from datetime import date, datetime, timedelta
from functools import cache
from itertools import pairwise
from pathlib import Path
from types import ModuleType
from typing import Any
from uuid import RFC_4122, UUID
from zoneinfo import ZoneInfo

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given, settings
from hypothesis import strategies as st

SCRIPT = Path(__file__).resolve().parents[2] / "seed_data" / "make_fleet.py"
TODAY = date(2026, 6, 9)
Record = dict[str, Any]

QUANTITIES = {
    "bath_temperature", "glycol_supply_temperature", "glycol_return_temperature", "beer_temperature_at_tap",
    "cooler_temperature", "ambient_temperature", "condenser_air_in_temperature", "condenser_air_out_temperature",
    "current", "terminal_temperature", "contact_voltage_drop", "supply_voltage", "glycol_strength", "glycol_ph",
    "bath_level", "suction_pressure", "discharge_pressure", "suction_line_temperature", "liquid_line_temperature",
    "frost_distance_after_capillary",
}  # fmt: skip
OF_COMPONENT = {"current", "terminal_temperature", "contact_voltage_drop"}
COMPONENT_KINDS = {
    "power_switch", "contactor", "pump", "pump_motor", "temperature_controller", "compressor", "condenser_fan",
    "heat_exchanger", "agitator", "strainer", "power_cord",
}  # fmt: skip
TASKS = {
    "condenser_clean", "condenser_deep_clean", "glycol_strength_check", "glycol_change", "bath_level_check",
    "pump_check", "strainer_clean", "electrical_check", "trunk_check", "controller_check", "follow_up",
}  # fmt: skip
RESULTS = {"done", "not_done", "not_needed"}
AS_FOUND = {"clean", "light", "heavy", "blocked"}
CONDITIONS = {
    "good", "worn", "discoloured", "burnt", "seized", "leaking", "stuck", "broken", "noisy", "open_circuit",
    "unknown",
}  # fmt: skip
REASONS = {"failed", "precaution", "upgrade", "unknown"}
SYMPTOMS = {
    "warm_pour", "foaming", "no_flow", "unit_dead", "noisy", "leaking", "frozen", "alarm", "other",
}  # fmt: skip
OBSERVATIONS = {
    "bath_cap_missing", "cover_panel_missing", "fasteners_missing", "glycol_leak", "oil_stain", "ice_on_coil",
    "display_dark", "controls_scorched", "pump_noisy", "air_in_lines", "insulation_wet", "insulation_damaged",
    "airflow_obstructed", "area_littered", "frost_on_capillary", "other",
}  # fmt: skip
KINDS = {"maintenance", "service_call", "follow_up", "installation"}
OUTCOMES = {"running", "recovering", "down", "waiting_for_parts"}
SURROUNDINGS = {"clean", "dusty", "greasy", "outdoor"}
RUN_SURROUNDINGS = {"cooler", "indoor", "attic", "underground", "outdoor"}
RATINGS = {"motor", "ac_only", "resistive"}
UNITS_OF_ENTRY = {"degF", "degC", "Brix", "mass%", "vol%", "psi", "kPa", "A", "V", "%", "pH", "in"}


@cache
def module() -> ModuleType:
    """The script, loaded from its path as the product's demo loads it."""
    spec = importlib.util.spec_from_file_location("make_fleet_under_test", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    loaded = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(loaded)
    return loaded


@cache
def fleet(today: date = TODAY, seed: int = 1) -> list[Record]:
    return list(module().make_fleet(today, seed))


def of(kind: str, today: date = TODAY, seed: int = 1) -> list[Record]:
    return [record for record in fleet(today, seed) if record["record"] == kind]


def by_key(kind: str, key: str, today: date = TODAY, seed: int = 1) -> dict[str, Record]:
    return {record[key]: record for record in of(kind, today, seed)}


def parts(name: str, today: date = TODAY) -> list[tuple[Record, Record]]:
    """Every reading, task, replacement or observation with its visit."""
    return [(visit, part) for visit in of("visit", today) for part in visit.get(name, [])]


def words(name: str, field: str) -> set[str]:
    return {part[field] for _, part in parts(name) if field in part}


def day_of(visit: Record) -> date:
    """The day at the site, which is the one its offset tells."""
    return datetime.fromisoformat(visit["arrived_at"]).date()


def replaced(tag: str, component: str) -> list[Record]:
    return [
        visit
        for visit in of("visit")
        if visit["unit"] == tag and component in {part["component"] for part in visit.get("replacements", [])}
    ]


def as_found(visit: Record, quantity: str) -> str:
    return str(next(r["value"] for r in visit["readings"] if r["quantity"] == quantity and r["when"] == "as_found"))


def celsius(text: str) -> float:
    number, unit = text.split()
    return float(number) if unit == "degC" else (float(number) - 32) / 1.8


# --- the same day, the same fleet -------------------------------------------------------------------------------------


def test_the_same_day_and_seed_give_the_same_fleet() -> None:
    random.seed(99)  # the script must not depend on anybody else's generator

    assert json.dumps(list(module().make_fleet(TODAY, 1))) == json.dumps(fleet())


def test_another_seed_gives_another_history_of_the_same_town() -> None:
    assert of("site", TODAY, 2) == of("site")
    assert of("visit", TODAY, 2) != of("visit")


def test_the_script_prints_the_fleet_as_json_lines() -> None:
    command = [sys.executable, str(SCRIPT), "--today", TODAY.isoformat(), "--seed", "1"]

    printed = subprocess.run(command, capture_output=True, check=True, encoding="utf-8", env={"PYTHONUTF8": "1"}).stdout

    assert [json.loads(line) for line in printed.splitlines()] == fleet()


# --- what there is ---------------------------------------------------------------------------------------------------


def test_the_fleet_is_as_large_as_promised() -> None:
    count = Counter(record["record"] for record in fleet())

    assert count["customer"] >= 8
    assert count["technician"] == 4
    assert count["site"] >= 14
    assert count["unit"] >= 24
    assert 700 <= count["visit"] <= 1100


def test_one_customer_has_four_sites_and_some_are_over_the_zone_line() -> None:
    assert max(Counter(site["customer"] for site in of("site")).values()) == 4
    assert Counter(site["time_zone"] for site in of("site")).most_common()[-1] == ("America/Denver", 2)


def test_units_are_of_many_sorts() -> None:
    units = of("unit")

    assert len({unit["maker"] for unit in units}) >= 4
    assert {unit["supply"]["phases"] for unit in units} == {1, 3}
    assert {"R-134a", "R-404A", "R-290"} <= {unit["refrigeration"]["refrigerant"] for unit in units}
    assert {unit["refrigeration"]["metering"] for unit in units} == {"capillary", "expansion_valve"}
    assert Counter(unit["bath"]["glycol"] for unit in units)["ethylene"] == 1
    assert max(len(trunk["runs"]) for unit in units for trunk in unit["trunks"]) >= 3


def test_no_serial_is_on_two_units() -> None:
    serials = [unit["serial"] for unit in of("unit")]

    assert len(set(serials)) == len(serials)


def test_one_unit_is_retired_and_has_no_visit_since() -> None:
    (retired,) = [unit for unit in of("unit") if unit["retired_on"]]
    visits = [day_of(visit).isoformat() for visit in of("visit") if visit["unit"] == retired["tag"]]

    assert visits
    assert max(visits) <= retired["retired_on"]


def test_units_never_visited_are_newly_installed() -> None:
    visited = {visit["unit"] for visit in of("visit")}
    never = [unit for unit in of("unit") if unit["tag"] not in visited]

    assert never
    assert all(TODAY - timedelta(days=30) < date.fromisoformat(unit["installed_on"]) < TODAY for unit in never)


def test_one_unit_has_no_installation_date() -> None:
    assert [unit["tag"] for unit in of("unit") if unit["installed_on"] is None] == ["GU-0901"]


def test_a_technician_who_has_left_visits_no_more() -> None:
    (gone,) = [person for person in of("technician") if "left_on" in person]
    days = [day_of(visit).isoformat() for visit in of("visit") if visit.get("technician") == gone["code"]]

    assert days
    assert max(days) < gone["left_on"]


# --- words -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "field", "expected"),
    [
        ("readings", "quantity", QUANTITIES),
        ("readings", "when", {"as_found", "as_left"}),
        ("tasks", "task", TASKS),
        ("tasks", "result", RESULTS),
        ("tasks", "as_found", AS_FOUND),
        ("replacements", "condition", CONDITIONS),
        ("replacements", "reason", REASONS),
        ("replacements", "evidence", {"seen", "reported"}),
        ("replacements", "by", {"us", "others"}),
        ("observations", "code", OBSERVATIONS),
    ],
)
def test_all_words_of_the_contract_are_used_and_no_others(name: str, field: str, expected: set[str]) -> None:
    assert words(name, field) == expected


def test_visit_kinds_outcomes_and_symptoms_are_words_of_the_contract() -> None:
    visits = of("visit")

    assert {visit["kind"] for visit in visits} == KINDS
    assert {visit["outcome"] for visit in visits} == OUTCOMES
    assert {visit["complaint"]["symptom"] for visit in visits if "complaint" in visit} == SYMPTOMS


def test_sites_and_units_use_words_of_the_contract() -> None:
    components = [part for unit in of("unit") for part in unit["components"]]
    runs = [run for unit in of("unit") for trunk in unit["trunks"] for run in trunk["runs"]]

    assert {site["surroundings"] for site in of("site")} == SURROUNDINGS
    assert {part["kind"] for part in components} == COMPONENT_KINDS
    assert {part["rating"] for part in components if "rating" in part} == RATINGS
    assert {run["surroundings"] for run in runs} == RUN_SURROUNDINGS


def test_every_reading_is_a_number_with_a_unit_and_the_units_vary() -> None:
    values = [re.fullmatch(r"-?[0-9]+(?:\.[0-9]+)? (\S+)", reading["value"]) for _, reading in parts("readings")]

    assert all(values)
    assert {value[1] for value in values if value} == UNITS_OF_ENTRY


def test_a_task_not_done_says_why() -> None:
    reasons = [task.get("reason") for _, task in parts("tasks") if task["result"] == "not_done"]

    assert reasons
    assert all(reasons)


# --- references ------------------------------------------------------------------------------------------------------


def test_what_is_referred_to_comes_first() -> None:
    seen: set[tuple[str, str]] = set()
    refers = {"site": ("customer", "technician"), "unit": ("site",), "visit": ("unit", "technician")}
    for record in fleet():
        kind = record["record"]
        missing = {(resource, record[resource]) for resource in refers.get(kind, ()) if resource in record} - seen
        assert not missing, record
        seen.add((kind, record.get("code") or record.get("tag") or record.get("id", "")))


def test_components_of_readings_and_replacements_are_the_units_own() -> None:
    own = {tag: {part["code"] for part in unit["components"]} for tag, unit in by_key("unit", "tag").items()}
    named = [(visit, part) for name in ("readings", "replacements") for visit, part in parts(name)]

    assert all(part["component"] in own[visit["unit"]] for visit, part in named if "component" in part)


def test_a_component_stands_with_exactly_the_readings_that_need_one() -> None:
    assert {r["quantity"] for _, r in parts("readings") if "component" in r} == OF_COMPONENT
    assert not [r for _, r in parts("readings") if r["quantity"] in OF_COMPONENT and "component" not in r]


def test_beer_is_read_at_taps_that_the_unit_feeds() -> None:
    taps = {
        tag: {line["tap"] for trunk in unit["trunks"] for line in trunk["beer_lines"]}
        for tag, unit in by_key("unit", "tag").items()
    }
    read = [(visit["unit"], r["tap"]) for visit, r in parts("readings") if r["quantity"] == "beer_temperature_at_tap"]

    assert read
    assert all(tap in taps[tag] for tag, tap in read)


def test_what_a_component_feeds_is_in_the_same_unit() -> None:
    for unit in of("unit"):
        codes = {part["code"] for part in unit["components"]}
        assert {fed for part in unit["components"] for fed in part.get("feeds", [])} <= codes


def test_visit_ids_are_uuids_of_version_7_and_differ() -> None:
    ids = [UUID(visit["id"]) for visit in of("visit")]

    assert {(each.version, each.variant) for each in ids} == {(7, RFC_4122)}  # layout: RFC 9562, section 5.7
    assert len(set(ids)) == len(ids)


def test_visits_by_others_are_reported_and_have_no_technician() -> None:
    others = [visit for visit in of("visit") if visit.get("by") == "others"]

    assert len(others) >= 3
    assert all(visit["evidence"] == "reported" and visit["firm"] and "technician" not in visit for visit in others)
    assert all("technician" in visit for visit in of("visit") if visit not in others)


def test_a_reported_replacement_says_when_and_by_whom() -> None:
    reported = [part for _, part in parts("replacements") if part["evidence"] == "reported"]

    assert all("on" in part and "by" in part for part in reported)


# --- times -----------------------------------------------------------------------------------------------------------


def check_times(today: date) -> None:
    """Offsets are the site's, times are in order, nothing lies before the history or after yesterday."""
    zones = {tag: site_of(tag, today)["time_zone"] for tag in by_key("unit", "tag", today)}
    for visit in of("visit", today):
        arrived, left = (datetime.fromisoformat(visit[name]) for name in ("arrived_at", "left_at"))
        result = datetime.fromisoformat(visit["complaint"]["reported_at"]) if "complaint" in visit else arrived
        read = [datetime.fromisoformat(r["at"]) for r in visit.get("readings", []) if "at" in r]
        assert result <= arrived < left
        assert all(arrived <= at <= left for at in read)
        for moment in (arrived, left, result, *read):
            assert moment.utcoffset() == moment.astimezone(ZoneInfo(zones[visit["unit"]])).utcoffset()
        assert today - relativedelta(years=3, days=10) <= day_of(visit) <= today - timedelta(days=1)


def site_of(tag: str, today: date = TODAY) -> Record:
    return by_key("site", "code", today)[by_key("unit", "tag", today)[tag]["site"]]


def test_times_are_ordered_and_carry_the_sites_offset() -> None:
    check_times(TODAY)


def test_visits_come_in_the_order_of_arrival() -> None:
    arrivals = [datetime.fromisoformat(visit["arrived_at"]) for visit in of("visit")]

    assert arrivals == sorted(arrivals)


def test_visits_are_in_working_hours() -> None:
    spans = [(visit["arrived_at"][11:16], visit["left_at"][11:16]) for visit in of("visit")]

    assert min(arrived for arrived, _ in spans) >= "07:00"
    assert max(left for _, left in spans) <= "20:00"


def test_sites_are_rarely_visited_on_closed_weekdays() -> None:
    closed = [
        visit
        for visit in of("visit")
        if day_of(visit).strftime("%A").lower() in site_of(visit["unit"])["closed_weekdays"]
    ]

    assert len(closed) <= 0.01 * len(of("visit"))


def test_nobody_is_in_two_places_at_once() -> None:
    spans = defaultdict(list)
    for visit in of("visit"):
        if "technician" in visit:
            span = tuple(datetime.fromisoformat(visit[name]) for name in ("arrived_at", "left_at"))
            spans[visit["technician"]].append(span)

    for days in spans.values():
        days.sort()
        assert all(before[1] < after[0] for before, after in pairwise(days))


# --- believable numbers ----------------------------------------------------------------------------------------------


def test_baths_on_maintenance_are_cold_and_beer_is_fit_to_drink() -> None:
    rounds = [(v, r) for v, r in parts("readings") if v["kind"] == "maintenance" and r["when"] == "as_found"]
    bath = [celsius(r["value"]) for _, r in rounds if r["quantity"] == "bath_temperature"]
    beer = [celsius(r["value"]) for _, r in rounds if r["quantity"] == "beer_temperature_at_tap"]

    # 27 to 31 degF and 36 to 39 degF: the shop's normal state, common practice, no source; 0.06 K of rounding
    assert -2.84 <= min(bath) <= max(bath) <= -0.5
    assert 2.16 <= min(beer) <= max(beer) <= 3.95


def test_no_quantity_is_always_the_same_number() -> None:
    distinct = defaultdict(set)
    for _, reading in parts("readings"):
        distinct[reading["quantity"]].add(reading["value"])

    assert min(len(values) for values in distinct.values()) >= 6


def test_a_call_for_warm_beer_leaves_a_colder_bath_still_recovering_and_is_followed_up() -> None:
    calls = [
        visit
        for visit in of("visit")
        if visit.get("outcome") == "recovering" and visit["complaint"]["symptom"] == "warm_pour"
        and day_of(visit) < TODAY - timedelta(days=1)
    ]  # fmt: skip
    followed = {(visit["unit"], day_of(visit)) for visit in of("visit") if visit["kind"] == "follow_up"}

    assert len(calls) >= 10
    for visit in calls:
        bath = [celsius(r["value"]) for r in visit["readings"] if r["quantity"] == "bath_temperature"]
        assert 7 < bath[0] < 16
        assert 0 < bath[-1] < bath[0]
        assert any((visit["unit"], day_of(visit) + timedelta(days=later)) in followed for later in (1, 2, 3, 4))


def test_dirt_grows_faster_where_it_is_greasy() -> None:
    found = defaultdict(list)
    for visit, task in parts("tasks"):
        if "as_found" in task and task["task"] == "condenser_clean":
            found[site_of(visit["unit"])["surroundings"]].append(task["as_found"])
    yearly = {word: len(grades) / len({v["unit"] for v in of("visit") if site_of(v["unit"])["surroundings"] == word})
              for word, grades in found.items()}  # fmt: skip

    # the same words turn up at every rhythm, so the greasy ones are cleaned three times as often as the clean ones
    assert yearly["greasy"] > yearly["dusty"] > yearly["outdoor"] > yearly["clean"]


# --- the planted stories ---------------------------------------------------------------------------------------------


def test_switches_of_one_unit_burn_again_and_again_beside_a_fouled_condenser() -> None:
    burnt = replaced("GU-0401", "switch-1")
    undone = {
        day_of(visit)
        for visit, task in parts("tasks")
        if visit["unit"] == "GU-0401" and (task["task"], task["result"]) == ("condenser_clean", "not_done")
    }

    assert len(burnt) == 4
    for visit in burnt:
        air_in, air_out = (celsius(as_found(visit, f"condenser_air_{way}_temperature")) for way in ("in", "out"))
        assert air_out - air_in > 10  # K; clean condensers here show 7 to 9
        assert any(timedelta(0) < day_of(visit) - day < timedelta(days=80) for day in undone)


def is_weak(text: str) -> bool:
    """Below 25 mass %, which is 24.4 vol % and freezes at -9.6 degC (ASHRAE Fundamentals 2001); 18.4 Brix, computed."""
    number, unit = text.split()
    if unit.startswith("deg"):
        return celsius(text) > -9.6
    return float(number) < {"mass%": 25, "vol%": 24.4, "Brix": 18.4}[unit]


def test_pumps_of_one_unit_seize_again_and_again_in_weak_glycol_and_a_low_bath() -> None:
    seized = replaced("GU-0501", "pump-1")

    assert len(seized) == 4
    for visit in seized:
        assert float(as_found(visit, "bath_level").removesuffix(" %")) < 60
        assert is_weak(as_found(visit, "glycol_strength"))


def test_all_other_components_fail_once_at_the_most() -> None:
    planted = {("GU-0401", "switch-1"), ("GU-0501", "pump-1")}
    failed = Counter(
        (visit["unit"], part["component"]) for visit, part in parts("replacements") if part["reason"] == "failed"
    )

    assert {key for key, count in failed.items() if count > 1} == planted
    assert sum(count == 1 for count in failed.values()) >= 30


# --- full whatever today is ------------------------------------------------------------------------------------------


def nominal_due(today: date) -> list[int]:
    """Days until each task falls due, by the plain intervals without grades or closed days; follow-ups count as well.

    Three months for most, six for the controller, twelve for electrics; condensers by surroundings.
    """
    cleaning = {"greasy": 30, "dusty": 46, "outdoor": 68, "clean": 91}
    months = {"glycol_strength_check": 3, "pump_check": 3, "bath_level_check": 3, "trunk_check": 3, "strainer_clean": 3,
              "controller_check": 6, "electrical_check": 12}  # fmt: skip
    retired = {tag for tag, unit in by_key("unit", "tag", today).items() if unit["retired_on"]}
    last: dict[tuple[str, str], date] = {}
    latest = {visit["unit"]: visit for visit in of("visit", today)}
    for visit, task in parts("tasks", today):
        if task["result"] != "not_done" and visit["unit"] not in retired:
            last[visit["unit"], task["task"]] = day_of(visit)
    due = [day_of(v) + timedelta(days=1) for v in latest.values() if v["outcome"] in ("recovering", "down")]
    for (tag, task), day in last.items():
        if task in months:
            due.append(day + relativedelta(months=months[task]))
        elif task == "condenser_clean":
            due.append(day + timedelta(days=cleaning[site_of(tag, today)["surroundings"]]))
    return [(day - today).days for day in due]


def check_the_day_is_full(today: date) -> None:
    days = nominal_due(today)

    assert 10 <= sum(day <= 0 for day in days) <= 25
    assert sum(day == 0 for day in days) >= 3
    assert sum(0 < day <= 14 for day in days) >= 4
    assert sum(day > 14 for day in days) >= 60  # on the whole the work is done in time


def test_the_list_of_the_day_is_full() -> None:
    check_the_day_is_full(TODAY)


def test_yesterday_left_several_units_recovering() -> None:
    yesterday = [visit for visit in of("visit") if day_of(visit) == TODAY - timedelta(days=1)]

    assert sum(visit["outcome"] == "recovering" for visit in yesterday) >= 3


@settings(max_examples=12, deadline=None, derandomize=True)
@given(st.dates(date(2024, 1, 1), date(2035, 12, 31)))
def test_any_other_day_is_as_full_and_its_times_are_as_right(today: date) -> None:
    check_the_day_is_full(today)
    check_times(today)


@pytest.mark.parametrize("today", [date(2024, 2, 29), date(2026, 3, 31), date(2025, 3, 10), date(2026, 11, 2)])
def test_month_ends_leap_days_and_clock_changes_do_no_harm(today: date) -> None:
    check_the_day_is_full(today)
    check_times(today)
