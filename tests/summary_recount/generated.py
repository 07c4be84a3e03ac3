"""One invented customer of any size, as records in the import format; the same seed gives the same records."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

Record = dict[str, Any]
LAST, DAYS = datetime(2026, 11, 5), 1040  # naive: the site's own clock; two years and ten months
ZONES = ("America/Denver", "America/New_York", "Asia/Tokyo", "Australia/Lord_Howe", "UTC")
PARTS = (("pump-1", "pump", 5.8), ("fan-1", "condenser_fan", 1.3), ("compressor-1", "compressor", 9.0))
TASKS = (
    "condenser_clean", "condenser_deep_clean", "glycol_strength_check", "bath_level_check", "pump_check", "follow_up",
)  # fmt: skip
SYMPTOMS = ("warm_pour", "foaming", "no_flow", "unit_dead", "noisy", "leaking", "frozen", "alarm", "other")
DANGERS = ("controls_scorched", "cover_panel_missing")
FINDS = ("clean", "light", "heavy", "blocked")


def fleet(
    *,
    units: int,
    visits: int,
    seed: int,
    name: str = "The Lantern Room",
    shown: str = "us",
    days: int = DAYS,
    registered: str | None = None,
) -> Iterator[Record]:
    """A customer with that many units and visits in all; some visits are by others, some are voided.

    Units that were `registered` on a day have no settings of tasks, which would count from their recording alone.
    """
    rng = Random(seed)
    yield {"record": "customer", "code": "lantern", "name": name, "units_shown": shown}
    yield {"record": "technician", "code": "rhea", "name": "Rhea"}
    for number, zone in enumerate(ZONES):
        yield {"record": "site", "code": f"site-{number}", "customer": "lantern", "name": f"{name[:1900]} {number}",
               "time_zone": zone, "surroundings": ("clean", "dusty", "greasy", "outdoor", None)[number],
               "closed_weekdays": ["monday"] if number % 2 else []}  # fmt: skip
    zones = [number % len(ZONES) for number in range(units)]
    for number, place in enumerate(zones):
        yield _unit(rng, number, place) | ({"registered_on": registered} if registered else {})
    if units and not registered:
        yield {"record": "task", "code": "pump_check", "interval": "4 months"}
        yield {"record": "unit_task", "unit": "GU-0000", "code": "bath_level_check", "interval": "45 days"}
    for number in range(visits):
        of = rng.randrange(units)
        made = _visit(rng, of, ZoneInfo(ZONES[zones[of]]), days)
        yield made
        if rng.random() < 0.05:
            wrong = {"outcome": rng.choice(["running", "down"]), "tasks": [_task(rng, "condenser_clean")], "work": None}
            yield {"record": "correction", "visit": made["id"], "at": "2026-11-19T09:00:00Z", "by": "anna",
                   "correction": {"why": "wrong sheet", **wrong}}  # fmt: skip
        if rng.random() < 0.03:
            yield {"record": "void", "visit": made["id"], "at": "2026-11-19T10:00:00Z", "by": "anna",
                   "reason": f"posted twice, {number}"}  # fmt: skip


def _unit(rng: Random, number: int, place: int) -> Record:
    bath = {"volume": "38 L", "glycol": rng.choice(["propylene", "propylene", "propylene", "unknown", "ethylene"])}
    bath |= {"target_strength": "35 mass%"} if rng.random() < 0.7 else {}
    bath |= {"set_point": "28 degF"} if rng.random() < 0.5 else {}
    circuit: Record = {"refrigerant": rng.choice(["R-134a", "R-404A", "R-290"])}
    circuit |= {"clean_split": "25 deltaF"} if rng.random() < 0.6 else {}
    installed = LAST - timedelta(days=DAYS - rng.randrange(400))
    rated = [rng.random() < 0.8 for _ in PARTS]
    return {
        "record": "unit", "tag": f"GU-{number:04}", "site": f"site-{place}", "maker": "Northfall", "place": "above",
        **({"installed_on": installed.date().isoformat()} if number % 4 else {}),
        "supply": {"voltage": "115 V"}, "bath": bath, "refrigeration": circuit,
        "components": [
            {"code": code, "kind": kind, **({"rated_current": f"{amps} A"} if is_rated else {})}
            for (code, kind, amps), is_rated in zip(PARTS, rated, strict=True)
        ],
    }  # fmt: skip


def _visit(rng: Random, of: int, zone: ZoneInfo, days: int) -> Record:
    arrived = (LAST - timedelta(minutes=rng.randrange(days * 1440))).replace(tzinfo=zone)
    kind = rng.choice(["maintenance", "maintenance", "service_call", "service_call", "follow_up", "installation"])
    others = rng.random() < 0.1
    made: Record = {
        "record": "visit", "id": str(UUID(int=rng.getrandbits(128), version=4)), "unit": f"GU-{of:04}", "kind": kind,
        "arrived_at": arrived.isoformat(),
        **({"by": "others", "evidence": "reported", "firm": "Towpath"} if others else {"technician": "rhea"}),
        "readings": [*_readings(rng, "as_found"), *(_readings(rng, "as_left") if rng.random() < 0.5 else ())],
        "tasks": [_task(rng, task) for task in rng.sample(TASKS, rng.randrange(4))],
        "replacements": [_replacement(rng, arrived) for _ in range(rng.choice([0, 0, 0, 1, 1, 2]))],
        **({"observations": [{"code": DANGERS[of % 2]}]} if of % 7 == 3 else {}),
        "work": "The usual round.",
        **({"outcome": rng.choice(["running", "running", "running", "recovering", "down"])} if of % 9 else {}),
        **({"advice": f"Keep the air side free, {of}."} if rng.random() < 0.3 else {}),
    }  # fmt: skip
    if rng.random() < 0.85:
        made["left_at"] = _later(arrived, rng.randrange(20, 400))
    if kind == "service_call":
        reported = {} if rng.random() < 0.2 else {"reported_at": _later(arrived, -rng.randrange(1, 900))}
        made["complaint"] = {"symptom": rng.choice(SYMPTOMS), **reported}
    return made


def _later(instant: datetime, minutes: int) -> str:
    """Minutes of the world's clock, whatever the site's does that night."""
    return (instant.astimezone(ZoneInfo("UTC")) + timedelta(minutes=minutes)).isoformat()


def _readings(rng: Random, when: str) -> Iterator[Record]:
    recorded = [
        ("bath_temperature", f"{rng.uniform(24, 50):.1f} degF", {}),
        ("beer_temperature_at_tap", f"{rng.uniform(33, 60):.1f} degF", {"tap": rng.choice("12")}),
        ("beer_temperature_at_tap", f"{rng.uniform(1, 12):.1f} degC", {"tap": "10"}),
        ("condenser_air_in_temperature", f"{rng.uniform(70, 95):.1f} degF", {}),
        ("ambient_temperature", f"{rng.uniform(65, 90):.1f} degF", {}),
        ("discharge_pressure", f"{rng.uniform(110, 230):.1f} psi", {}),
        ("suction_pressure", f"{rng.uniform(5, 30):.1f} psi", {}),
        ("supply_voltage", f"{rng.uniform(98, 128):.1f} V", {}),
        ("current", f"{rng.uniform(0.5, 7):.2f} A", {"component": "pump-1"}),
        ("current", f"{rng.uniform(2, 11):.2f} A", {"component": "compressor-1"}),
        ("glycol_strength", *_strength(rng)),
        ("refrigerant_added", f"{rng.randrange(10, 400)} g", {}),
        ("refrigerant_recovered", f"{rng.uniform(0.1, 0.9):.2f} lb", {}),
    ]
    for quantity, value, more in recorded:
        if rng.random() < (0.05 if quantity.startswith("refrigerant") else 0.6):
            yield {"quantity": quantity, "value": value, "when": when, **more}
    for value in ("30 degF", "31 degF") if rng.random() < 0.2 else ():
        yield {"quantity": "bath_temperature", "value": value, "when": when}


def _strength(rng: Random) -> tuple[str, Record]:
    if rng.random() < 0.3:
        sample = {"sample_temperature": f"{rng.uniform(12, 28):.1f} degC"} if rng.random() < 0.8 else {}
        return f"{rng.uniform(14, 32):.1f} Brix", sample
    recorded = (
        f"{rng.uniform(18, 55):.1f} mass%",
        f"{rng.uniform(18, 50):.1f} vol%",
        f"{rng.uniform(-20, 22):.1f} degF",
    )
    return rng.choice(recorded), {}


def _task(rng: Random, task: str) -> Record:
    result = rng.choice(["done", "done", "done", "not_done", "not_needed"])
    return {
        "task": task, "result": result, **({"reason": "no key"} if result == "not_done" else {}),
        **({"as_found": rng.choice(FINDS)} if task.startswith("condenser") and result == "done" else {}),
    }  # fmt: skip


def _replacement(rng: Random, arrived: datetime) -> Record:
    code, _, _ = rng.choice(PARTS)
    made: Record = {
        "component": code, "reason": rng.choice(["failed", "failed", "precaution", "upgrade", "unknown"]),
        "condition": rng.choice(["burnt", "worn", "seized", "good", "unknown"]), "evidence": "seen",
    }  # fmt: skip
    if rng.random() < 0.3:
        on = (arrived - timedelta(days=rng.randrange(1, 200))).date().isoformat()
        made |= {"evidence": "reported", "on": _as_remembered(on), "by": rng.choice(["us", "others"])}
    return made


def _as_remembered(day: str) -> str:
    """A day as people report it: two in three not exactly."""
    forms = (day, day, day[:7], day[:4], f"{day[:7]}/{day}", "unknown")
    return forms[int(day[8:]) % len(forms)]
