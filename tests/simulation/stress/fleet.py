"""A whole fleet by the account of this package: sites, units, people, a batch, and the record of three years."""

import numpy as np

from tests.simulation.records import Recorder, part
from tests.simulation.stress.lives import People, deaths
from tests.simulation.stress.paper import day_of, unit_line, write
from tests.simulation.stress.places import DAYS, SURROUNDINGS, Conditions, conditions, site_volts
from tests.simulation.stress.wear import LIVES, POSITIONS
from tests.simulation.truth import Fleet, Plan, Planted

TECHNICIANS = ("ines", "jonas", "karim", "lena", "milo")
TAKEN_OVER, NEW = 0.4, 0.15
HARMS = {
    "condenser_fouled": ("power_switch", "compressor", "condenser_fan", "temperature_controller", "start_capacitor"),
    "ambient_hot": ("power_switch", "compressor", "condenser_fan", "temperature_controller", "start_capacitor"),
    "switch_undersized": ("power_switch",), "loose_terminal": ("power_switch",), "glycol_weak": ("pump",),
    "glycol_strong": ("pump",), "bath_low": ("pump",), "strainer_blocked": ("pump",), "unexplained": ("pump",),
    "low_voltage": ("compressor", "temperature_controller", "start_capacitor", "power_switch", "pump", "condenser_fan"),
}  # fmt: skip


def fleet(size: int, seed: int, plan: Plan) -> Fleet:
    """So many units of three years."""
    rng = np.random.default_rng(seed)
    made = Fleet()
    recorder = Recorder(made, plan, rng)
    people = _people(rng) if plan.planted and size > 30 else People()
    made.lines += [{"record": "technician", "code": code, "name": code.title()} for code in TECHNICIANS]
    count = site = 0
    while count < size:
        units = min(size - count, int(rng.choice([1, 2, 3], p=[0.6, 0.3, 0.1])))
        _site(site, range(count, count + units), recorder, people)
        count, site = count + units, site + 1
    _plant_people(made, people)
    made.lines[:] = _ordered(made)
    return made


def _people(rng: np.random.Generator) -> People:
    """One careless technician from a day on, one batch of one kind sold for some months."""
    sold = int(rng.integers(150, 600))
    kind = str(rng.choice(["power_switch", "pump", "condenser_fan"]))
    return People(str(rng.choice(TECHNICIANS)), int(rng.integers(100, 600)), kind, (sold, sold + 150))


def _site(number: int, units: range, recorder: Recorder, people: People) -> None:
    rng, made = recorder.rng, recorder.fleet
    code, customer = f"site-{number}", f"house-{number // 4}"
    surroundings = str(rng.choice(list(SURROUNDINGS), p=list(SURROUNDINGS.values())))
    if number % 4 == 0:
        made.lines.append({"record": "customer", "code": customer, "name": f"House {number // 4}"})
    line = {"record": "site", "code": code, "customer": customer, "name": code, "time_zone": "UTC"}
    made.lines.append(line | ({"surroundings": surroundings} if rng.random() < 0.7 else {}))
    volts, sags_from = site_volts(rng, recorder.plan)
    tags = [f"U-{index:04d}" for index in units]
    for tag in tags:
        _unit(tag, code, conditions(surroundings, volts, rng, recorder.plan), recorder, people)
    if sags_from < DAYS:
        made.planted.append(Planted("site", code, "low_voltage", HARMS["low_voltage"], frozenset(tags)))


def _unit(tag: str, site: str, unit: Conditions, recorder: Recorder, people: People) -> None:
    rng, made = recorder.rng, recorder.fleet
    drawn = rng.random()
    care = int(rng.integers(30, 400)) if drawn < TAKEN_OVER else 0
    installed = -int(rng.integers(1400, 4400)) if drawn < TAKEN_OVER else -int(rng.integers(0, 1400))
    if drawn > 1 - NEW:
        care = installed = int(rng.integers(0, 400))
    made.lines.append(unit_line(tag, site, unit, (installed, care), recorder.plan, rng))
    made.watched_from[tag] = day_of(care)
    made.planted += [Planted("unit", tag, cause, HARMS[cause], frozenset([tag])) for cause in unit.planted]
    if installed < care:
        _hearsay(tag, care, recorder)
    regular = str(rng.choice(TECHNICIANS))
    crew = (regular, regular, str(rng.choice(TECHNICIANS)))
    write(tag, unit, deaths(unit, care, crew, people, recorder.plan, rng), care, recorder, regular)


def _hearsay(tag: str, care: int, recorder: Recorder) -> None:
    """What the customer says of the years before us: a part that others replaced, and about when."""
    rng = recorder.rng
    if rng.random() < 0.3:
        on = day_of(care - int(rng.integers(20, 700))).isoformat()
        parts = [part(str(rng.choice(list(POSITIONS))), "unknown", on=on, evidence="reported", by="others")]
        recorder.visit(tag, day_of(care), "maintenance", parts=parts)


def _plant_people(made: Fleet, people: People) -> None:
    """The careless technician and the batch, with the units at which a part died of them."""
    kinds = tuple(sorted(LIVES))
    for cause, level, key, own in (
        ("after_repair", "technician", people.careless, kinds),
        ("bad_parts", "model", f"{people.batch_kind[:3].upper()}-B", (people.batch_kind,)),
    ):
        units = frozenset(each.unit for each in made.failures if each.cause == cause)
        if units:
            made.planted.append(Planted(level, key, cause, own, units))


def _ordered(made: Fleet) -> list[dict]:
    """Customers, sites and units before visits, visits by arrival."""
    first = [line for line in made.lines if line["record"] != "visit"]
    rank = {"technician": 0, "customer": 1, "site": 2, "unit": 3}
    visits = [line for line in made.lines if line["record"] == "visit"]
    return [
        *sorted(first, key=lambda line: rank[line["record"]]),
        *sorted(visits, key=lambda line: line["arrived_at"]),
    ]
