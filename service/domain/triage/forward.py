"""The forward model: from installation, operating state, faults and air to the expected readings.

Hypotheses are rows; each is run for every draw of the unknown settings (`settings`). What comes out is the expected
value of every channel for each hypothesis and draw; their mean and covariance over the draws are the expected reading
and its uncertainty. The refrigeration circuit is `circuit.steady`; the rest are balances of heat and mixtures of
temperatures.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from service.domain.physics.bath.heat import bath_heat_capacity
from service.domain.triage.balance import Design, Now
from service.domain.triage.channels import INDEX, MOVES
from service.domain.triage.circuit import Running, Solved, steady
from service.domain.triage.facts import Facts
from service.domain.triage.fluid import Array, Indices, fluid
from service.domain.triage.hypotheses import Hypotheses
from service.domain.triage.settings import CONTROL_FLOOR, draws

METAL = 15.0  # [kg] of tank, coil and pump that cool with the bath
GLYCOL = {"density": 1040.0, "specific_heat": 3700.0}
POWER_FACTOR = 0.7  # of small hermetic compressors
USUAL_FLOW = 8.0e-5  # [m3/s] 75 gal/h a trunk
USUAL_AMPERES = {"fan": 0.9, "pump": 4.0}
EFFICIENCY = 0.57  # of the compressor, isentropic
LEAST_SPLIT = 4.0  # [K]
LEAST_WARMTH = 1.0  # [K] of the air around a trunk over the set point


@dataclass(frozen=True)
class Surroundings:
    """What is known of bath and air for each hypothesis: mean and standard deviation [K]."""

    bath: Array
    bath_sd: Array
    air: Array  # entering the condenser
    air_sd: Array
    room: Array


@dataclass(frozen=True)
class Expected:
    """Expected values by channel, hypothesis and draw while the compressor stands, and how far running ones are off.

    Of the channels of `MOVES`; where it cannot run both are the same.
    """

    resting: Array
    moved: Array

    def running(self, channel: str) -> Array:
        """What a channel that moves shows while the compressor runs."""
        return np.asarray(self.resting[INDEX[channel]] + self.moved[MOVES[INDEX[channel]]])


def expected(facts: Facts, rows: Hypotheses, around: Surroundings, solved: Solved) -> Expected:
    """The expected reading of every channel; `solved` are the circuits of the same unit that are known."""
    drawn = draws(split_known=facts.knows("split"))
    bath = around.bath[:, None] + around.bath_sd[:, None] * drawn["bath"]
    air = around.air[:, None] + around.air_sd[:, None] * drawn["air"]
    values = np.zeros((len(INDEX), *bath.shape))
    room = np.broadcast_to(around.room[:, None], bath.shape)
    scene = _Scene(facts, rows, drawn, around, bath, air, room, values, solved)
    _off(scene)
    _loop(scene)
    _beer(scene)
    _motors(scene)
    _controls(scene)
    moved = np.zeros((len(MOVES), *bath.shape))
    run = np.flatnonzero(rows.can_run)
    if run.size:
        for channel, running in _on(scene, run, _circuit(scene, run)).items():
            n = INDEX[channel]
            moved[MOVES[n], run] = running - values[n, run]
    return Expected(values, moved)


@dataclass(frozen=True)
class _Scene:
    facts: Facts
    rows: Hypotheses
    drawn: Mapping[str, Array]
    around: Surroundings
    bath: Array
    air: Array
    room: Array
    values: Array
    solved: Solved

    def effect(self, name: str) -> Array:
        """A setting changed by the faults, a column."""
        return self.rows.effects[name][:, None]

    def put(self, channel: str, value: Array | float) -> None:
        """Set a channel for every hypothesis."""
        self.values[INDEX[channel]] = value

    def of(self, channel: str) -> Array:
        """What a channel is expected to show."""
        return np.asarray(self.values[INDEX[channel]])

    @property
    def fan(self) -> Array:
        """The current of a fan that turns [A]."""
        rated = self.facts.rated.get("fan", USUAL_AMPERES["fan"])
        return np.asarray(rated * self.drawn["fan"] * self.effect("fan"))

    @property
    def cooling(self) -> Array:
        """The unit's cooling at its rated point over the draws."""
        return self.facts.cooling * self.drawn["capacity"]


IN_CIRCUIT = ("air_flow", "charge", "opening", "gas", "leak", "transfer")


def _circuit(s: _Scene, run: Indices) -> Running:
    """The running circuits: rows that differ in nothing that the circuit sees are solved once."""
    driven = (s.around.bath, s.around.bath_sd, s.around.air, s.around.air_sd)
    seen = np.column_stack([*(each[run] for each in driven), *(s.rows.effects[name][run] for name in IN_CIRCUIT)])
    keys = [row.tobytes() for row in np.round(seen, 9)]
    fresh = {key: n for n, key in reversed(list(enumerate(keys))) if key not in s.solved.place}
    if fresh:
        s.solved.add(fresh, _solved(s, run[list(fresh.values())]))
    return s.solved.at(keys)


def _solved(s: _Scene, run: Indices) -> Running:
    """Those circuits."""
    shape = (run.size, s.bath.shape[1])

    def every(values: Array) -> Array:
        return np.broadcast_to(values, shape).copy()

    effects = {name: s.rows.effects[name][run][:, None] for name in IN_CIRCUIT}
    d = s.drawn
    now = Now(
        bath=s.bath[run],
        air=s.air[run],
        air_flow=effects["air_flow"] * (1.0 + d["air_flow"]),
        floor=every(np.where(d["control"] > 0.0, CONTROL_FLOOR, 0.0)),
        charge=effects["charge"] + d["charge"],
        opening=effects["opening"] * (1.0 + d["opening"]),
        gas=every(effects["gas"]),
        leak=every(effects["leak"]),
        transfer=every(effects["transfer"]),
    )
    return steady(_design(s), now)


def _design(s: _Scene) -> Design:
    """The unit as it is rated, over the draws."""
    d, f = s.drawn, s.facts
    split = np.maximum(f.split + d["split"], LEAST_SPLIT)
    return Design(
        fluid=fluid(f.refrigerant),
        capillary=f.capillary,
        cooling=s.cooling,
        ambient=np.full_like(split, f.ambient),
        bath=np.full_like(split, f.bath),
        approach=d["approach"],
        split=split,
        superheat=np.minimum(d["superheat"], 0.9 * d["approach"]),
        subcooling=np.minimum(d["subcooling"], 0.6 * split),
        rise=d["rise_share"] * split,
        efficiency=np.full_like(split, EFFICIENCY),
        in_condenser=d["in_condenser"],
    )


def _off(s: _Scene) -> None:
    """The circuit at rest: the refrigerant gathers in the coldest part, and both sides show its pressure."""
    gas = s.effect("gas") * 0.45  # spread over the whole circuit
    coldest = np.minimum(s.bath, s.air)
    rest = fluid(s.facts.refrigerant).dew(coldest) + gas - s.facts.atmosphere
    air_side = fluid(s.facts.refrigerant).bubble(s.air) - s.facts.atmosphere
    s.put("suction", rest)
    s.put("discharge", rest if s.facts.capillary else 0.5 * (rest + np.maximum(rest, air_side)))
    s.put("suction_line", 0.5 * (s.bath + s.room))
    for channel in ("liquid_line", "air_out", "bend"):
        s.put(channel, s.air)
    s.put("discharge_line", s.room + 8.0)
    s.put("wet", 1.0)


def _on(s: _Scene, run: Indices, found: Running) -> dict[str, Array]:
    """The channels that move, where the compressor runs."""
    atmosphere = s.facts.atmosphere
    inlet = found.evaporating + found.superheat
    heat = _heat_capacity(s.facts)
    return {
        "bath_rate": s.of("bath_rate")[run] - found.cooling / heat,
        "fan": s.fan[run],
        "suction": found.suction - atmosphere,
        "discharge": found.discharge - atmosphere,
        "suction_line": inlet + 0.03 * (s.room[run] - inlet),
        "liquid_line": found.condensing - found.subcooling,
        "air_out": found.air_out,
        "bend": found.condensing,
        "discharge_line": found.discharge_line,
        "wet": found.wet,
        "compressor": _compressor_current(s, run, found),
    }


def _compressor_current(s: _Scene, run: Indices, found: Running) -> Array:
    """The current that the circuit asks for, and more where the motor drags."""
    drag = s.rows.effects["drag"][run][:, None]
    return np.asarray(drag * np.sqrt(found.power_share) * s.drawn["compressor"] * _compressor_rating(s, found))


def _compressor_rating(s: _Scene, found: Running) -> Array:
    """The rated current [A]; without a nameplate what the calculated power at the rated point would draw."""
    if "compressor" in s.facts.rated:
        return np.full_like(found.power, s.facts.rated["compressor"])
    at_rating = found.power / found.power_share / s.drawn["compressor"]
    return np.asarray(at_rating / (s.facts.voltage * POWER_FACTOR))


def _heat_capacity(facts: Facts) -> float:
    return bath_heat_capacity(glycol_volume=facts.volume, metal_mass=METAL, **GLYCOL)


def _loop(s: _Scene) -> None:
    """The bath's rate without cooling, supply and return; the load falls as the bath nears the air around the trunk."""
    load = s.drawn["load"] * s.facts.cooling * s.effect("load")
    usual = max(s.facts.run_air - s.facts.set_point, LEAST_WARMTH)
    warmer = np.clip((s.facts.run_air - s.bath) / usual, 0.05, 1.3)
    share = np.where(s.effect("loop_flow") < 0.05, 0.3, 1.0) * np.where(s.rows.can_run[:, None], 1.0, 0.6)
    s.put("bath_rate", load * warmer * share / _heat_capacity(s.facts))
    flow = s.effect("loop_flow")
    still = flow < 0.05
    supply = np.where(still, s.bath + 0.25 * (s.room - s.bath), s.bath + 0.25)
    rise = np.minimum(s.drawn["rise"] * s.effect("load") / np.maximum(flow, 0.15), 14.0)
    s.put("supply", supply)
    s.put("return", np.where(still, s.bath + 0.4 * (s.room - s.bath), supply + rise))
    s.put("flow", USUAL_FLOW * s.facts.trunks * flow * (1.0 + 0.35 * s.drawn["control"]))


def _beer(s: _Scene) -> None:
    """What comes from the tap: beer that flowed along the trunk, and the share of the glass that stood in the line."""
    cooler = s.drawn["cooler"] + s.effect("cooler")
    keg = cooler + s.drawn["keg"] + s.effect("keg")
    still = s.effect("loop_flow") < 0.05
    line = 0.5 * (s.of("supply") + s.of("return"))
    stood = line + s.effect("run_gain") * (s.facts.run_air - line)
    passed = np.clip(1.0 - np.exp(-s.facts.run_length / s.drawn["trunk"]), 0.1, 0.95)
    flowing = keg + passed * (np.where(still, stood, line) - keg)
    glass = flowing + s.drawn["first"] * (stood - flowing) + s.effect("line") + 0.5
    alone = (
        s.effect("keg_alone") * (1.0 - 0.7 * passed)
        + s.effect("tap")
        + s.effect("short_gain") * s.drawn["first"] * (s.facts.run_air - line)
    )
    s.put("cooler", cooler)
    s.put("keg", keg + s.effect("keg_alone"))
    s.put("tap_warm", glass + alone + 0.4)
    s.put("tap_cold", glass - 0.4)


def _motors(s: _Scene) -> None:
    """The currents while the compressor stands; a fan runs where the compressor is called for and does not start."""
    s.put("compressor", s.effect("locked") * s.facts.rated.get("compressor", 8.0))
    s.put("fan", np.where(s.rows.can_run[:, None], 0.0, s.fan))
    s.put("pump", s.facts.rated.get("pump", USUAL_AMPERES["pump"]) * s.drawn["pump"] * s.effect("pump"))


def _controls(s: _Scene) -> None:
    volts = s.facts.voltage * s.drawn["voltage"]
    for channel in ("before", "behind", "at_controller"):
        s.put(channel, volts * s.effect(channel))
    s.put("terminal", s.room + 4.0)
    s.put("level", np.minimum(s.effect("level"), 1.0))
    s.put("strength", np.clip(s.facts.strength + s.effect("strength"), 0.0, 0.6))
    s.put("set_point", s.facts.set_point + s.effect("set_point"))
    s.put("display", s.bath + s.effect("sensor"))
