"""What somebody measures, does and writes at a visit."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.simulation.defects.troubles import State
from tests.simulation.records import reading, task
from tests.simulation.truth import Line


@dataclass(frozen=True, slots=True)
class Habit:
    """How a technician works: shares of readings taken, days late, ticks without work and work without a tick."""

    measures: float
    late: float
    only_ticked: float
    not_ticked: float
    swaps: float
    careful: float


HABITS = {
    "thorough": Habit(0.8, 0.1, 0.0, 0.02, 0.01, 1.0),
    "hurried": Habit(0.4, 1.5, 0.03, 0.1, 0.06, 0.6),
    "lazy": Habit(0.15, 8.0, 0.1, 0.3, 0.12, 0.2),
}
PEOPLE = {"ada": "thorough", "bo": "thorough", "cem": "hurried", "dora": "hurried", "eli": "lazy", "finn": "hurried"}


def readings_of(state: State, unit: dict[str, Any], habit: Habit) -> list[Line]:
    """What is measured before anything is done."""
    rng = state.rng
    loads = {"pump-1": 3.2, "fan-1": 0.9, "compressor-1": state.load(unit["amps"])}
    air, hot = state.air(), state.at("loose_terminal")
    found = [
        reading("supply_voltage", f"{state.supply() + rng.normal(0, 1.5):.1f} V"),
        reading("ambient_temperature", f"{air + rng.normal(0, 1.5):.1f} degC"),
        reading("condenser_air_in_temperature", f"{air + 2 + 2 * state.fouled + rng.normal(0, 1.5):.1f} degC"),
        reading("bath_level", f"{min(100, max(0, 100 * state.level + rng.normal(0, 4))):.0f} %"),
        reading("glycol_strength", f"{100 * max(0.05, state.strength + rng.normal(0, 0.012)):.1f} mass%"),
    ]
    for code, (feeds, rated) in unit["switches"].items():
        amps = sum(loads[each] for each in feeds)
        loose = hot is not None and hot.where == code
        rise = 9 + 16 * (amps / rated) ** 2 + (42 if loose else 0)
        drop = max(0.003, rng.normal(0.17 if loose else 0.035, 0.02))
        found.append(reading("current", f"{amps * rng.normal(1, 0.04):.2f} A", code))
        if rng.random() < 0.5:
            found.append(reading("terminal_temperature", f"{air + rise + rng.normal(0, 5):.0f} degC", code))
        if rng.random() < 0.25:
            found.append(reading("contact_voltage_drop", f"{drop:.3f} V", code))
    return [each for each in found if rng.random() < habit.measures]


def grade(share: float, rng: np.random.Generator) -> str:
    """The word for dirt, a step off now and then."""
    step = int(np.digitize(share, (0.15, 0.45, 0.75))) + int(rng.choice([-1, 0, 0, 0, 0, 0, 1]))
    return ("clean", "light", "heavy", "blocked")[min(3, max(0, step))]


def maintained(state: State, habit: Habit) -> list[Line]:
    """Clean, fill and check, as far as somebody does; what is written of it."""
    rng, lines = state.rng, []
    for code, dirt, ease in (("condenser_clean", "fouled", 0.9), ("strainer_clean", "strainer", 0.75)):
        trouble = state.at("condenser_fouled" if dirt == "fouled" else "strainer_blocked")
        seen = grade(getattr(state, dirt), rng)
        if rng.random() < (0.3 if trouble else ease):
            setattr(state, dirt, 0.04)
            if rng.random() > habit.not_ticked:
                lines.append(task(code, "done", seen))
        elif rng.random() < habit.only_ticked:
            lines.append(task(code, "done"))
        elif rng.random() < 0.3 + 0.5 * habit.careful:
            lines.append(task(code, "not_done", seen, str(rng.choice(["no access", "no time"]))))
    if rng.random() < 0.5 + 0.4 * habit.careful:
        state.level = max(state.level, 0.97)
        lines.append(task("bath_level_check"))
    if rng.random() < 0.4 + 0.5 * habit.careful:
        lines.append(task("electrical_check"))
    return lines
