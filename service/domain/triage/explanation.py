"""An explanation is a value: what it changes in the forward model, how likely it is, how it is confirmed and put right.

A node is one severity in one regime. Its `effects` are settings of the forward model (`EFFECTS` names them with their
healthy values); `spread` is what one node adds to the uncertainty of a channel.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

# The settings that a fault changes, with their healthy values.
EFFECTS: Mapping[str, float] = {
    "air_flow": 1.0,  # of the condenser, as a share of the clean one
    "charge": 1.0,
    "opening": 1.0,  # flow area of the metering device
    "gas": 0.0,  # [Pa] partial pressure of non-condensable gas
    "leak": 0.0,  # share of the compressor's flow that its valves lose
    "transfer": 1.0,  # of the evaporator
    "room": 0.0,  # [K] warmer than usual
    "excess": 0.0,  # [K] air into the condenser over the air of the room
    "load": 1.0,
    "loop_flow": 1.0,
    "run_gain": 0.10,  # share of the way to the room's temperature that the beer in the line takes
    "short_gain": 0.0,  # the same in addition, on the warmest tap alone
    "cooler": 0.0,  # [K] over the usual
    "keg": 0.0,  # [K] over the cooler
    "keg_alone": 0.0,  # [K] over the cooler, of the warmest tap alone
    "tap": 0.0,  # [K] on the warmest tap alone
    "line": 0.0,  # [K] on every tap, of beer that the line itself warmed
    "unread": 0.0,  # 1 where the taps that were read are not those that are warm
    "level": 0.92,
    "strength": 0.0,  # mass fraction over the target
    "set_point": 0.0,  # [K] what the controller is set to, over what is wanted
    "sensor": 0.0,  # [K] what the controller reads, over the true bath
    "probe": 0.0,  # [K] what our thermometer in the bath shows, over the true bath
    "locked": 0.0,  # compressor current over its rating, where it is called for and pumps nothing
    "drag": 1.0,  # compressor current over what the circuit asks for
    "fan": 1.0,
    "pump": 1.0,
    "before": 1.0,  # share of the supply voltage before the switch, behind it, and at the controller
    "behind": 1.0,
    "at_controller": 1.0,
}
RUNNING, RESTING, STOPPED, DEAD = "running", "resting", "stopped", "dead"
REGIMES = (RUNNING, RESTING, STOPPED, DEAD)
"""Regimes: compressor runs; controller is satisfied; compressor should run and does not; no power at the motors."""


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """One severity in one regime: its weight, the bath over its set point [K] and the spread of that, and effects."""

    weight: float
    regime: str
    bath: float
    bath_spread: float
    effects: Mapping[str, float] = field(default_factory=dict)
    spread: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """One competing cause of what is measured."""

    code: str
    sentence: str
    prior: float
    nodes: tuple[Node, ...]
    test: str
    remedy: str
    cautions: tuple[str, ...] = ()
    tested_by: tuple[str, ...] = ()  # quantities, or motors by their current, that are its test when all were read
    family: str = ""  # two of one family are not considered at once
    symptoms: Mapping[str, float] = field(default_factory=dict)  # factor on the prior for a symptom
    links: Mapping[str, float] = field(default_factory=dict)  # how much likelier together with another


Place = tuple[float, str, float, float]
"""Share of a severity, its regime, the bath over its set point [K] and the spread of that."""
RESTS: tuple[Place, ...] = ((1.0, RESTING, 0.3, 1.0),)
STOPS: tuple[Place, ...] = ((0.33, STOPPED, 3.0, 2.0), (0.5, STOPPED, 13.0, 8.0), (0.17, STOPPED, 28.0, 8.0))
"""Since a short time, since hours, or for so long that the bath is as warm as the room, and warmer by its pump."""


def nodes(
    weight: float, places: Iterable[Place], spread: Mapping[str, float] | None = None, /, **effects: float
) -> tuple[Node, ...]:
    """A severity: a node at each of these places."""
    return tuple(
        Node(weight * share, regime, bath, bath_spread, effects, spread or {})
        for share, regime, bath, bath_spread in places
    )


def runs(
    weight: float, warm: float, spread: Mapping[str, float] | None = None, /, **effects: float
) -> tuple[Node, ...]:
    """A severity while the compressor runs: with the bath near its set point, or (share `warm`) far above it."""
    return nodes(weight, ((1.0 - warm, RUNNING, 0.7, 1.3), (warm, RUNNING, 9.0, 6.0)), spread, **effects)


def rests(weight: float, spread: Mapping[str, float] | None = None, /, **effects: float) -> tuple[Node, ...]:
    """A severity while the controller is satisfied."""
    return nodes(weight, RESTS, spread, **effects)


def either(
    weight: float, warm: float, spread: Mapping[str, float] | None = None, /, **effects: float
) -> tuple[Node, ...]:
    """A severity that is found at rest as often as in running."""
    return (*rests(0.5 * weight, spread, **effects), *runs(0.5 * weight, warm, spread, **effects))


def stopped(weight: float, **effects: float) -> tuple[Node, ...]:
    """A severity while the compressor should run and does not."""
    return nodes(weight, STOPS, **effects)


def dead(weight: float, **effects: float) -> tuple[Node, ...]:
    """A unit without power: its motors stand still and its bath warms up."""
    still = {"fan": 0.0, "pump": 0.0, "loop_flow": 0.0, "run_gain": 0.6}
    return nodes(weight, ((share, DEAD, bath, spread) for share, _, bath, spread in STOPS), **still, **effects)
