"""What the technicians write of a unit: the unit itself, its visits and its repairs, each in the writer's habit."""

from datetime import date, timedelta

import numpy as np

from tests.simulation.records import CONDITION_NOT_FAILED, Recorder, nameplate, part, reading, task
from tests.simulation.stress.lives import Death
from tests.simulation.stress.places import DAYS, Conditions
from tests.simulation.stress.wear import POSITIONS, amperes
from tests.simulation.truth import Failure, Line, Plan

START = date(2022, 1, 1)
FEEDS = {"switch-1": ["compressor-1", "fan-1"], "switch-2": ["pump-1"]}
CONDITIONS = {  # how a part looks, by what made it fail; judged
    "power_switch": {
        "": {"worn": 0.3, "stuck": 0.2, "open_circuit": 0.2, "burnt": 0.2, "unknown": 0.1},
        "hot": {"burnt": 0.6, "discoloured": 0.2, "open_circuit": 0.1, "stuck": 0.1},
    },
    "pump": {
        "": {"worn": 0.35, "leaking": 0.3, "noisy": 0.2, "seized": 0.15},
        "hot": {"seized": 0.5, "burnt": 0.3, "noisy": 0.2},
        "bath_low": {"leaking": 0.4, "seized": 0.4, "noisy": 0.2},
        "strainer_blocked": {"noisy": 0.4, "worn": 0.35, "seized": 0.25},
        "glycol_weak": {"worn": 0.4, "broken": 0.3, "seized": 0.3},
        "glycol_strong": {"burnt": 0.35, "seized": 0.35, "worn": 0.3},
        "unexplained": {"leaking": 0.4, "worn": 0.4, "seized": 0.2},
    },
    "temperature_controller": {
        "": {"broken": 0.4, "stuck": 0.3, "unknown": 0.3},
        "hot": {"burnt": 0.45, "stuck": 0.35, "discoloured": 0.2},
    },
    "condenser_fan": {
        "": {"noisy": 0.4, "worn": 0.3, "seized": 0.3},
        "hot": {"seized": 0.5, "burnt": 0.4, "noisy": 0.1},
    },
    "compressor": {
        "": {"seized": 0.4, "open_circuit": 0.3, "noisy": 0.3},
        "hot": {"burnt": 0.6, "seized": 0.25, "open_circuit": 0.15},
    },
    "start_capacitor": {"": {"leaking": 0.4, "open_circuit": 0.6}, "hot": {"burnt": 0.5, "leaking": 0.5}},
}  # fmt: skip
SHARE_READ = {"careful": 0.9, "busy": 0.45, "swapper": 0.6}
LATE = {"careful": 0.2, "busy": 9.0, "swapper": 2.0}  # days to the office, on average


def day_of(number: int) -> date:
    """The day of a number."""
    return START + timedelta(days=number)


def unit_line(
    tag: str, site: str, unit: Conditions, days: tuple[int, int], plan: Plan, rng: np.random.Generator
) -> Line:
    """The unit; `days` are those of its installation and of the beginning of our care."""
    installed = day_of(days[0]).isoformat()
    parts: list[Line] = []
    for code, kind in POSITIONS.items():
        plate: Line = {"rated_current": "20 A"} if code == "switch-2" else {}
        if code == "switch-1":
            plate = nameplate(plan, rng, rated_current=f"{unit.rating:.0f} A", rating="ac_only")
        if code == "compressor-1":
            plate = nameplate(plan, rng, rated_current="7 A")
        known = {"installed_on": installed} if rng.random() < 0.8 else {}
        parts.append({"code": code, "kind": kind, "feeds": FEEDS.get(code, [])} | known | plate)
    return {
        "record": "unit", "tag": tag, "site": site, "installed_on": installed, "components": parts,
        "care_from": day_of(days[1]).isoformat(), "registered_on": day_of(days[1]).isoformat(),
        "supply": {"voltage": "115 V"}, "bath": {"target_strength": "35 mass%", "set_point": "28 degF"},
    }  # fmt: skip


def write(tag: str, unit: Conditions, made: list[Death], start: int, recorder: Recorder, technician: str) -> None:
    """Maintenance and repairs of a unit, and the truth of its failures."""
    for day in unit.visits:
        if day >= start:
            recorder.visit(
                tag, day_of(day), "maintenance", readings=_read(unit, day, recorder.rng, 1.0),
                tasks=_tasks(unit, day, recorder.rng), technician=technician, late=_late(unit, recorder.rng),
            )  # fmt: skip
    for death in made:
        _repair(tag, unit, death, recorder)


def _late(unit: Conditions, rng: np.random.Generator) -> float:
    return float(rng.exponential(LATE[unit.habit]))


def _repair(tag: str, unit: Conditions, death: Death, recorder: Recorder) -> None:
    rng, day, kind = recorder.rng, death.day, POSITIONS[death.position]
    if rng.random() < recorder.plan.unrecorded:
        recorder.fleet.failures.append(Failure(tag, kind, death.position, day_of(day), death.cause, ""))
        return
    if unit.habit == "swapper" and rng.random() < 0.12 and day + 3 < DAYS:
        wrong = str(rng.choice([code for code in POSITIONS if code != death.position]))
        recorder.visit(tag, day_of(day), "service_call", parts=[part(wrong, str(rng.choice(CONDITION_NOT_FAILED)))])
        day += int(rng.integers(1, 4))
    looks = _looks(kind, death.cause)
    item = {"item": {"maker": "Brindle", "model": f"{kind[:3].upper()}-{death.model}"}} if rng.random() < 0.8 else {}
    parts = [part(death.position, str(rng.choice(list(looks), p=list(looks.values()))), **item)]
    parts += [part(code, str(rng.choice(CONDITION_NOT_FAILED)), "precaution") for code in death.precautions]
    blocked = unit.habit != "careful" or rng.random() < 0.5
    tasks = [task("condenser_clean", "not_done", _grade(unit.dirt[day]), "no time")] if blocked else []
    key = recorder.visit(
        tag, day_of(day), "service_call", readings=_read(unit, day, rng, 0.8), parts=parts,
        tasks=tasks, technician=death.technician, late=_late(unit, rng),
    )  # fmt: skip
    recorder.fleet.failures.append(Failure(tag, kind, death.position, day_of(death.day), death.cause, key))


def _looks(kind: str, cause: str) -> dict[str, float]:
    known = CONDITIONS[kind]
    early = cause in ("", "bad_parts", "after_repair")
    return known.get(cause, known[""] if early else known["hot"])


def _grade(share: float) -> str:
    return "clean" if share < 0.2 else "light" if share < 0.45 else "heavy" if share < 0.75 else "blocked"


def _tasks(unit: Conditions, day: int, rng: np.random.Generator) -> list[Line]:
    before = unit.dirt[max(0, day - 1)]
    cleaned = day in unit.cleaned
    seen = _grade(before) if rng.random() < SHARE_READ[unit.habit] else None
    tasks = [task("condenser_clean", "done" if cleaned else "not_done", seen, None if cleaned else "no access")]
    blocked = unit.strainer[day]
    if rng.random() < SHARE_READ[unit.habit]:
        tasks.append(task("strainer_clean", "done", _grade(blocked)))
    return [*tasks, task("electrical_check"), task("pump_check")]


def _read(unit: Conditions, day: int, rng: np.random.Generator, share: float) -> list[Line]:
    """Readings as found; the wider the check the more are taken."""
    amps, room = amperes(unit)[day], unit.room[day]
    hot = 26.0 * (amps / 14.0) ** 2
    loose = day >= unit.loose and unit.active("loose_terminal")[day]
    values = [
        ("current", "switch-1", f"{amps * rng.normal(1, 0.03):.2f} A"),
        ("current", "switch-2", f"{5.0 * rng.normal(1, 0.04):.2f} A"),
        ("supply_voltage", None, f"{unit.volts[day] + rng.normal(0, 0.8):.1f} V"),
        ("terminal_temperature", "switch-1", f"{room + hot + rng.normal(0, 2):.1f} degC"),
        ("terminal_temperature", "switch-2", f"{room + 8 + 45 * loose + rng.normal(0, 2):.1f} degC"),
        ("contact_voltage_drop", "switch-2", f"{abs(rng.normal(0.6 if loose else 0.03, 0.02)):.3f} V"),
        ("glycol_strength", None, f"{100 * np.clip(unit.strength[day] + rng.normal(0, 0.012), 0, 1):.2f} mass%"),
        ("bath_level", None, f"{100 * np.clip(unit.level[day] + rng.normal(0, 0.04), 0.05, 1.1):.0f} %"),
        ("glycol_ph", None, f"{unit.acidity[day] + rng.normal(0, 0.2):.1f} pH"),
        ("ambient_temperature", None, f"{room + rng.normal(0, 1.5):.1f} degC"),
        ("condenser_air_in_temperature", None, f"{room + rng.normal(1, 1.0):.1f} degC"),
    ]
    taken = share * SHARE_READ[unit.habit]
    often = {"terminal_temperature": 0.6, "contact_voltage_drop": 0.5, "glycol_ph": 0.4, "ambient_temperature": 0.7}
    return [
        reading(quantity, value, component)
        for quantity, component, value in values
        if rng.random() < taken * often.get(quantity, 1.0)
    ]
