"""Triage as a dialogue: each step that it asks for is carried out at the simulated unit until it is certain.

It is compared with a fixed checklist, whose steps go from looking to gauges (common practice, no source). What is
counted is measurements: readings and observations taken.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from random import Random
from typing import Any

from tests.simulation.units.engine import accepted
from tests.simulation.units.instruments import Instruments
from tests.simulation.units.scene import Scene
from tests.simulation.units.seen import ASKED, MISTAKEN, SIGNS
from tests.simulation.units.visits import GAUGES, READ

CERTAIN = 0.9
MOST = 40  # steps, made or not
GROUPS = {
    "bath": ("bath_temperature",),
    "loop": ("glycol_supply_temperature", "glycol_return_temperature", "glycol_flow"),
    "beer": ("beer_temperature_at_tap", "cooler_temperature"),
    "air": ("ambient_temperature", "condenser_air_in_temperature", "condenser_air_out_temperature"),
    "amps": ("current",),
    "terminals": ("terminal_temperature",),
    "volts": ("supply_voltage", "voltage_at", "voltage_before", "voltage_behind", "voltage_across"),
    "glycol": ("glycol_strength", "bath_level"),
    "circuit": ("suction_pressure", "discharge_pressure", "suction_line_temperature", "liquid_line_temperature"),
    "display": ("controller_set_point", "controller_temperature"),
    "keg": ("keg_temperature",),
    "lines": ("condenser_bend_temperature", "discharge_line_temperature"),
}
SEEN = {code: sign for code, (sign, _) in SIGNS.items()} | ASKED
GROUP_OF = {quantity: group for group, quantities in GROUPS.items() for quantity in quantities}
CHECKLIST: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (  # quantities, observations
    ((), ("all_taps_warm", "one_tap_warm", "keg_delivered_today", "busy_period")),
    (("beer_temperature_at_tap", "cooler_temperature"), ()),
    ((), ("display_dark", "calling_for_cooling", "breaker_tripped")),
    (("bath_temperature", "bath_level"), ("bath_level_low", "ice_on_coil", "pump_running", "glycol_returning")),
    (("glycol_supply_temperature", "glycol_return_temperature"), ("air_in_lines", "return_surging")),
    (GROUPS["air"], ("condenser_dirty", "fan_turning")),
    (("glycol_strength",), ("strainer_dirty", "insulation_wet")),
    (("bath_temperature",), ("compressor_running", "compressor_clicking")),
    (("current",), ()),
    (("supply_voltage", "voltage_at", "voltage_before", "voltage_behind"), ()),
    ((), ("frost_on_first_turns_only", "frost_to_compressor", "warm_air_at_intake")),
    (GROUPS["circuit"], ()),
)  # fmt: skip
Answer = dict[str, Any]


@dataclass(slots=True)
class AtUnit:
    """Somebody at the unit, with instruments and a watch."""

    rng: Random
    scene: Scene
    bag: Instruments
    minute: float = GAUGES
    taken: int = 0
    body: dict[str, Any] = field(default_factory=dict)

    def read(self, quantity: str, component: str | None = None) -> None:
        """Take the readings of a quantity, at one component or wherever it is read."""
        plant, moment = self.scene.at(self.minute * 60.0)
        for _ in range(4):  # a group leaves some of its readings out at times
            got = [
                part
                for part in READ[GROUP_OF[quantity]](self.rng, self.bag, plant, moment)
                if part["quantity"] == quantity and component in (None, part.get("component"))
            ]
            if got:
                break
        self.body["readings"] += ({**part, "when": "as_found"} for part in accepted(got))
        self.taken += len(got)

    def look(self, code: str) -> None:
        """Make an observation."""
        plant, moment = self.scene.at(self.minute * 60.0)
        so = SEEN[code](plant, moment) != (self.rng.random() < MISTAKEN)
        self.body["observations"].append({"code": code, "present": so})
        self.taken += 1


def begun(rng: Random, scene: Scene, body: dict[str, Any]) -> AtUnit:
    """Somebody who has just come, and knows what the caller said; `body` names unit, symptom and elevation."""
    return AtUnit(rng, scene, Instruments(rng, scene.found.now), body={**body, "readings": [], "observations": []})


def shares(answer: Answer) -> Counter[str]:
    """The probability of each explanation, alone or beside another."""
    found = Counter[str]()
    for each in answer["explanations"]:
        for code in {each["code"], each["with"]} - {None}:
            found[code] += each["probability"]
    return found


def leading(answer: Answer) -> tuple[str, float]:
    """The likeliest explanation, alone or beside another, with its probability."""
    return shares(answer).most_common(1)[0]


def certain(answer: Answer) -> bool:
    """Whether one explanation is as good as certain."""
    return leading(answer)[1] >= CERTAIN


def guided(here: AtUnit, ask: Callable[[dict[str, Any]], Answer]) -> bool:
    """Take the first step that triage names and that can be made here, until it is certain; whether it became so."""
    answer, without = ask(here.body), set[str]()
    for _ in range(MOST):
        step = next((each for each in answer["next"] if each["code"] not in without), None)
        if certain(answer) or step is None:
            break
        if made(here, step):
            answer = ask(here.body)
        else:
            without.add(step["code"])
    return certain(answer)


def made(here: AtUnit, step: dict[str, Any]) -> bool:
    """Make a step; whether it gave anything: no dark display is read, and no temperature of a loop that stands."""
    before = here.taken
    for reading in step["readings"]:
        if reading["quantity"] in GROUP_OF:
            here.read(reading["quantity"], reading["component"])
    for code in step["observations"]:
        if code in SEEN:
            here.look(code)
    here.minute = min(here.minute + step["minutes"], 33.0)
    return here.taken > before


def by_checklist(here: AtUnit, ask: Callable[[dict[str, Any]], Answer]) -> bool:
    """Take the steps of the checklist in their order until triage is certain; whether it became so."""
    for quantities, codes in CHECKLIST:
        for quantity in quantities:
            here.read(quantity)
        for code in codes:
            here.look(code)
        if certain(ask(here.body)):
            return True
    return False


def compared(
    calls: Sequence[tuple[Scene, dict[str, Any], frozenset[str]]], ask: Callable[[dict[str, Any]], Answer], seed: int
) -> Iterator[str]:
    """Measurements taken until certain, both ways, over the calls in which both become so; each call with its truth."""
    counts, ended, right = list[tuple[int, int]](), [0, 0], [0, 0]
    for n, (scene, body, truth) in enumerate(calls):
        ways = [begun(Random(seed + n), scene, body) for _ in range(2)]
        ends = [guided(ways[0], ask), by_checklist(ways[1], ask)]
        for way in (0, 1):
            ended[way] += ends[way]
            right[way] += ends[way] and leading(ask(ways[way].body))[0] in truth
        if all(ends):
            counts.append((ways[0].taken, ways[1].taken))
    first, second = (sum(each[n] for each in counts) for n in (0, 1))
    yield f"dialogue, {len(calls)} calls: certain in {ended[0]} by its own steps ({right[0]} rightly), "
    yield f"  in {ended[1]} by the checklist ({right[1]} rightly); where both, {first} measurements against {second}, "
    yield f"  {first / max(second, 1):.1%}"
