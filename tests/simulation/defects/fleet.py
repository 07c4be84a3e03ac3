"""A fleet day by day: troubles, failures, calls, and rounds every quarter or so."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np

from tests.simulation.defects.lives import DELAY, LUCK, Part, live_a_day, looks, new_part
from tests.simulation.defects.paper import HABITS, PEOPLE, Habit, maintained, readings_of
from tests.simulation.defects.troubles import AT_SITES, HARMS, SHARES, State, Trouble
from tests.simulation.records import Recorder, nameplate, part
from tests.simulation.truth import ORDINARY, Failure, Fleet, Plan, Planted

START, DAYS, PER_SITE = date(2022, 1, 1), 1096, 2
TROUBLED = 0.22
MODELS, BAD_KIND, BAD_MODEL, BAD_SPELL = ("K1", "K2", "K3", "K4"), "pump", "K2", (300, 700)
CLUMSY = "finn"
BUSY = (0.2, 0.2, 0.2, 0.2, 0.15, 0.05)  # how much each of the people does


@dataclass(slots=True)
class Unit:
    """A unit with what is in it and who comes."""

    tag: str
    state: State
    parts: dict[str, Part]
    facts: dict[str, Any]
    luck: dict[str, float]
    since: int
    who: str
    due: int
    hearsay: list[dict[str, Any]] = field(default_factory=list)
    heard: list[int] = field(default_factory=list)


@dataclass(slots=True)
class Writing:
    """What a fleet is written with."""

    fleet: Fleet
    plan: Plan
    rng: np.random.Generator
    recorder: Recorder


def fleet(size: int, seed: int, plan: Plan) -> Fleet:
    """So many units over three years, two a site."""
    rng, made = np.random.default_rng(seed), Fleet(end=START + timedelta(days=DAYS))
    write = Writing(made, plan, rng, Recorder(made, plan, rng))
    made.lines += [{"record": "technician", "code": code, "name": code.title()} for code in PEOPLE]
    made.lines += [{"record": "customer", "code": f"group-{n}", "name": f"Group {n}"} for n in range(0, size, 50)]
    units = [unit for first in range(0, size, PER_SITE) for unit in _site(write, first, min(PER_SITE, size - first))]
    for unit in units:
        _live(write, unit)
    _plant_wide(write)
    made.lines.sort(key=lambda line: line.get("arrived_at", ""))
    return made


def _site(write: Writing, first: int, count: int) -> list[Unit]:
    rng, code = write.rng, f"site-{first}"
    dirt = str(rng.choice(["clean", "dusty", "greasy", "outdoor"], p=[0.35, 0.3, 0.25, 0.1]))
    write.fleet.lines.append(
        {"record": "site", "code": code, "customer": f"group-{first // 50 * 50}", "name": code, "time_zone": "UTC",
         "surroundings": dirt}
    )  # fmt: skip
    volts, who = rng.normal(118, 1.5), str(rng.choice(list(PEOPLE), p=BUSY))
    units = [
        _unit(write, first + n, code, State(rng, dirt, volts, rng.normal(24, 2.5), 0.0, ""), who) for n in range(count)
    ]
    if write.plan.planted and rng.random() < 0.3 * TROUBLED:
        _trouble(write, units)
    for unit in units:
        if write.plan.planted and not unit.state.troubles and rng.random() < 0.85 * TROUBLED:
            _trouble(write, [unit])
    for unit in units:
        write.fleet.lines.append({"record": "unit"} | unit.facts["line"])
    return units


def _unit(write: Writing, number: int, site: str, state: State, who: str) -> Unit:
    rng, tag = write.rng, f"D-{number:04}"
    inherited = rng.random() < 0.4
    since = 0 if rng.random() < 0.6 else int(rng.integers(1, 500))
    care = START + timedelta(days=since)
    installed = care - timedelta(days=int(rng.integers(400, 3500))) if inherited else care
    first = "contactor-1" if rng.random() < 0.3 else "switch-1"
    one = first == "switch-1" and rng.random() < 0.3
    switches = {first: (("compressor-1", "fan-1", *(("pump-1",) if one else ())), 20.0)}
    if not one:
        switches["switch-2"] = (("pump-1",), 15.0)
    kinds = {code: "contactor" if code[0] == "c" else "power_switch" for code in switches} | {
        "pump-1": "pump", "controller-1": "temperature_controller", "fan-1": "condenser_fan",
        "compressor-1": "compressor", "capacitor-1": "start_capacitor",
    }  # fmt: skip
    state.fouled, state.day = rng.uniform(0, 0.5), since
    luck = rng.gamma(2.2, 1 / 2.2) * write.plan.rate
    facts: dict[str, Any] = {"switches": switches, "amps": rng.uniform(5.5, 8.0), "kinds": kinds}
    facts["line"] = {
        "tag": tag, "site": site, "installed_on": installed.isoformat(), "care_from": care.isoformat(),
        "registered_on": care.isoformat(), "supply": nameplate(write.plan, rng, voltage="115 V"),
        "bath": {"target_strength": "35 mass%"},
    }  # fmt: skip
    facts["line"] = {key: value for key, value in facts["line"].items() if value}
    facts["line"]["components"] = [_component(write, code, kind, switches, installed) for code, kind in kinds.items()]
    write.fleet.watched_from[tag] = care
    uneven = {kind: luck * rng.gamma(6, 1 / 6) for kind in LUCK}
    parts = {code: Part(kind, inherited=inherited) for code, kind in kinds.items()}
    return Unit(tag, state, parts, facts, uneven, since, who, since + int(rng.integers(5, 100)))


def _component(
    write: Writing, code: str, kind: str, switches: dict[str, tuple[tuple[str, ...], float]], day: date
) -> dict[str, Any]:
    line: dict[str, Any] = {"code": code, "kind": kind, "installed_on": day.isoformat()}
    if code in switches:
        line["feeds"] = list(switches[code][0])
        line |= nameplate(write.plan, write.rng, rated_current=f"{switches[code][1]:.0f} A", rating="motor")
    return line


def _trouble(write: Writing, units: list[Unit]) -> None:
    """Plant one cause at one unit, or a voltage at all units of a site."""
    rng, site = write.rng, len(units) > 1
    causes = AT_SITES if site else [each for each in SHARES if each not in AT_SITES]
    weights = np.array([SHARES[each] for each in causes])
    cause = str(rng.choice(causes, p=weights / weights.sum()))
    start, size = int(rng.integers(0, 450)), float(rng.lognormal(0, 0.35))
    for unit in units:
        where = "summer" if cause == "low_voltage" and start % 2 else ""
        switches = [code for code, kind in unit.facts["kinds"].items() if kind in ("power_switch", "contactor")]
        if cause == "loose_terminal":
            where = str(rng.choice(switches))
        if cause == "switch_undersized":
            start, where = 0, switches[0]
            rated = 10.0
            unit.facts["switches"][where] = (unit.facts["switches"][where][0], rated)
            unit.facts["amps"] = rng.uniform(8.6, 11.5)
            line = next(each for each in unit.facts["line"]["components"] if each["code"] == where)
            if "rated_current" in line:
                line |= {"rated_current": "10 A", "rating": "ac_only" if rng.random() < 0.5 else "motor"}
        unit.state.troubles.append(Trouble(cause, max(start, unit.since + 1), DAYS, size, where))
    tags = frozenset(unit.tag for unit in units)
    key = f"{units[0].facts['line']['site']}" if site else units[0].tag
    write.fleet.planted.append(Planted("site" if site else "unit", key, cause, tuple(HARMS[cause]), tags))


def _live(write: Writing, unit: Unit) -> None:
    rng, state = write.rng, unit.state
    while state.day < DAYS - 1:
        state.pass_day()
        harm = state.harm()
        for code, each in unit.parts.items():
            live_a_day(each, code, state, unit.luck[each.kind], harm)
        dead = [code for code, each in unit.parts.items() if each.fails_on <= state.day]
        if dead and rng.random() < 0.06:
            _by_others(write, unit, dead)
        elif dead:
            _called(write, unit, dead)
        elif state.day >= unit.due:
            _round(write, unit)


def _come(write: Writing, unit: Unit) -> tuple[str, Habit]:
    who = unit.who if write.rng.random() < 0.8 else str(write.rng.choice(list(PEOPLE), p=BUSY))
    return who, HABITS[PEOPLE[who]]


def _put_in(write: Writing, unit: Unit, code: str, who: str) -> dict[str, Any]:
    """Fit a new part; how it is written."""
    kind, rng = unit.parts[code].kind, write.rng
    model = str(rng.choice(MODELS, p=[0.4, 0.3, 0.2, 0.1]))
    planted = write.plan.planted
    goods = planted and (kind, model) == (BAD_KIND, BAD_MODEL) and BAD_SPELL[0] <= unit.state.day < BAD_SPELL[1]
    hands = planted and who == CLUMSY
    unit.parts[code] = new_part(kind, unit.state.day, rng, {"bad_parts": goods, "after_repair": hands})
    return {"item": {"maker": "Halden", "model": f"{kind[:3].upper()}-{model}"}} if rng.random() < 0.6 else {}


def _called(write: Writing, unit: Unit, dead: list[str]) -> None:
    rng, state = write.rng, unit.state
    who, habit = _come(write, unit)
    day = START + timedelta(days=state.day)
    causes = {code: unit.parts[code].cause for code in dead}
    shown = readings_of(state, unit.facts, habit) if rng.random() < 0.7 else []
    lines = [part(code, looks(unit.parts[code], rng, habit.careful)) for code in dead]
    spare = [code for code in unit.parts if code not in dead and unit.parts[code].fails_on > 10**8]
    if spare and rng.random() < habit.swaps:
        lines.append(part(str(rng.choice(spare)), str(rng.choice(["good", "unknown", "worn"]))))
    elif spare and rng.random() < write.plan.precautions:
        lines.append(part(str(rng.choice(spare)), str(rng.choice(["good", "worn"])), "precaution"))
    kinds = {code: unit.parts[code].kind for code in unit.parts}
    lines = [line | _put_in(write, unit, line["component"], who) for line in lines]
    tasks = maintained(state, habit) if rng.random() < 0.25 else []
    for trouble in state.troubles:
        trouble.cost += sum(cause == trouble.cause for cause in causes.values())
    state.visited(habit.careful)
    key = ""
    if rng.random() >= write.plan.unrecorded:
        late = float(rng.exponential(habit.late)) + 0.1
        more = {"technician": who} if rng.random() < 0.9 else {}
        key = write.recorder.visit(
            unit.tag, day, "service_call", readings=shown, tasks=tasks, parts=lines + unit.hearsay, late=late, **more
        )
        _heard(write, unit, key)
    write.fleet.failures += [Failure(unit.tag, kinds[c], c, day, cause, key) for c, cause in causes.items()]


def _by_others(write: Writing, unit: Unit, dead: list[str]) -> None:
    """Another firm came; we hear of it at our next visit, and when only roughly."""
    rng, day = write.rng, START + timedelta(days=unit.state.day)
    for code in dead:
        rough = (str(day), str(day)[:7], str(day)[:7], str(day)[:4], "unknown")[int(rng.integers(5))]
        unit.hearsay.append(part(code, "unknown") | {"evidence": "reported", "by": "others", "on": rough})
        unit.heard.append(len(write.fleet.failures))
        write.fleet.failures.append(Failure(unit.tag, unit.parts[code].kind, code, day, unit.parts[code].cause, ""))
        unit.parts[code] = new_part(unit.parts[code].kind, unit.state.day, rng, {})


def _heard(write: Writing, unit: Unit, key: str) -> None:
    for n in unit.heard:
        was = write.fleet.failures[n]
        write.fleet.failures[n] = Failure(was.unit, was.kind, was.component, was.day, was.cause, key)
    unit.hearsay, unit.heard = [], []


def _round(write: Writing, unit: Unit) -> None:
    rng, state = write.rng, unit.state
    unit.due = state.day + int(rng.integers(60, 130))
    who, habit = _come(write, unit)
    shown, tasks = readings_of(state, unit.facts, habit), maintained(state, habit)
    state.visited(0.5 * habit.careful)
    if rng.random() < 0.3 * habit.not_ticked:
        return
    weak = [c for c, p in unit.parts.items() if p.fails_on < 10**8 and DELAY[p.kind] > 20]
    lines = []
    if weak and rng.random() < 0.25 * habit.careful:
        lines.append(part(weak[0], str(rng.choice(["noisy", "worn", "discoloured"])), "precaution"))
        lines[0] |= _put_in(write, unit, weak[0], who)
    day, late = START + timedelta(days=state.day), float(rng.exponential(habit.late)) + 0.1
    key = write.recorder.visit(
        unit.tag, day, "maintenance", readings=shown, tasks=tasks, parts=lines + unit.hearsay, late=late, technician=who
    )
    _heard(write, unit, key)


def _plant_wide(write: Writing) -> None:
    """The batch and the clumsy hands, at the units where they did harm."""
    for cause, level, key in (
        ("bad_parts", "model", f"{BAD_KIND[:3].upper()}-{BAD_MODEL}"),
        ("after_repair", "technician", CLUMSY),
    ):
        made = [each for each in write.fleet.failures if each.cause == cause != ORDINARY]
        if made:
            kinds, units = tuple(sorted({e.kind for e in made})), frozenset(e.unit for e in made)
            write.fleet.planted.append(Planted(level, key, cause, kinds, units))
