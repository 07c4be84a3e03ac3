"""Hypotheses: one node of an explanation, or of two at once, as arrays for the forward model."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from service.domain.triage.explanation import DEAD, EFFECTS, REGIMES, RESTING, STOPPED, Explanation, Node
from service.domain.triage.fluid import Array, Indices

MULTIPLIED = frozenset({"air_flow", "charge", "opening", "transfer", "load", "loop_flow", "fan", "pump", "drag"})
LOWER = frozenset({"before", "behind", "at_controller", "level"})


Codes = tuple[str, ...]
Entry = tuple[Codes, float, Node]
"""Codes, prior probability, node."""


@dataclass(frozen=True)
class Hypotheses:
    """Rows of hypotheses: codes, logarithm of the prior, regime (an index of REGIMES), bath over set point, effects.

    Codes and nodes are listed once; `place` and `node` say for each row which are its own.
    """

    listed: tuple[Codes, ...]
    place: Indices
    log_prior: Array
    regime: Indices
    bath: Array
    bath_spread: Array
    changed: Array  # (effect, row), in the order of EFFECTS
    spreads: dict[str, Array]  # what each row adds to the standard deviation of a channel
    nodes: tuple[Node, ...]
    node: Indices

    def __len__(self) -> int:
        return len(self.place)

    @cached_property
    def codes(self) -> tuple[Codes, ...]:
        """Those of each row."""
        return tuple(self.listed[n] for n in self.place.tolist())

    @cached_property
    def effects(self) -> dict[str, Array]:
        """The settings of the forward model, each for all rows."""
        return dict(zip(EFFECTS, self.changed, strict=True))

    @property
    def can_run(self) -> Array:
        """In which rows the compressor runs, or runs from time to time."""
        return np.asarray(self.regime <= REGIMES.index(RESTING))

    def take(self, rows: Indices, log_prior: Array, regime: Indices) -> "Hypotheses":
        """Rows chosen by index, with other priors and regimes."""
        return Hypotheses(
            listed=self.listed,
            place=self.place[rows],
            log_prior=log_prior,
            regime=regime,
            bath=self.bath[rows],
            bath_spread=self.bath_spread[rows],
            changed=self.changed[:, rows],
            spreads={name: values[rows] for name, values in self.spreads.items()},
            nodes=self.nodes,
            node=self.node[rows],
        )

    def spread(self, channel: str) -> Array:
        """What each row adds to the standard deviation of a channel."""
        return self.spreads.get(channel, np.zeros(len(self)))


def rows(entries: Sequence[Entry]) -> Hypotheses:
    """Hypotheses from codes, prior probability and node."""
    nodes = tuple(node for _, _, node in entries)
    every = {codes: None for codes, _, _ in entries}
    place = {codes: n for n, codes in enumerate(every)}
    return Hypotheses(
        listed=tuple(every),
        place=np.array([place[codes] for codes, _, _ in entries], dtype=np.intp),
        log_prior=np.log(np.array([prior for _, prior, _ in entries])),
        regime=np.array([REGIMES.index(node.regime) for node in nodes]),
        bath=np.array([node.bath for node in nodes]),
        bath_spread=np.array([node.bath_spread for node in nodes]),
        changed=np.concatenate([_changed(node) for node in nodes]).reshape(len(nodes), -1).T.copy(),
        spreads=_columns([node.spread for node in nodes]),
        nodes=nodes,
        node=np.arange(len(nodes)),
    )


@lru_cache(maxsize=8192)
def _changed(node: Node) -> Array:
    """All settings of the forward model under a node."""
    return np.array([node.effects.get(name, healthy) for name, healthy in EFFECTS.items()])


def _columns(spreads: Sequence[Mapping[str, float]]) -> dict[str, Array]:
    """A column for each name, 0 where a row has none."""
    columns: dict[str, Array] = {}
    for n, row in enumerate(spreads):
        for name, value in row.items():
            columns.setdefault(name, np.zeros(len(spreads)))[n] = value
    return columns


def joined(a: Hypotheses, b: Hypotheses) -> Hypotheses:
    """The rows of both."""
    names = a.spreads.keys() | b.spreads.keys()
    place = {codes: n for n, codes in enumerate(dict.fromkeys(a.listed + b.listed))}
    theirs = np.array([place[codes] for codes in b.listed], dtype=np.intp)
    return Hypotheses(
        listed=tuple(place),
        place=np.concatenate([a.place, theirs[b.place]]),
        log_prior=np.concatenate([a.log_prior, b.log_prior]),
        regime=np.concatenate([a.regime, b.regime]),
        bath=np.concatenate([a.bath, b.bath]),
        bath_spread=np.concatenate([a.bath_spread, b.bath_spread]),
        changed=np.concatenate([a.changed, b.changed], axis=1),
        spreads={name: np.concatenate([a.spread(name), b.spread(name)]) for name in names},
        nodes=a.nodes + b.nodes,
        node=np.concatenate([a.node, b.node + len(a.nodes)]),
    )


def singles(explanations: Iterable[Explanation], prior: Mapping[str, float]) -> list[Entry]:
    """Every node of every explanation, each explanation's prior shared out by the weights of its nodes."""
    return [((each.code,), prior[each.code] * node.weight, node) for each in explanations for node in each.nodes]


def severities(nodes: Iterable[Node]) -> list[Node]:
    """Of nodes, the best first, that of each severity: they differ in what they change, not only in the regime."""
    found: dict[bytes, Node] = {}
    for node in nodes:
        found.setdefault(_severity(node), node)
    return list(found.values())


def anywhere(explanations: Iterable[Explanation]) -> dict[Node, float]:
    """For each node the weight of its severity in whatever regime: what a second fault brings to that of a first."""
    found: dict[Node, float] = {}
    for each in explanations:
        for node in each.nodes:
            found[node] = sum(other.weight for other in each.nodes if _severity(other) == _severity(node))
    return found


@lru_cache(maxsize=1024)
def _severity(node: Node) -> bytes:
    return _changed(node).tobytes()


LASTING = (DEAD, STOPPED)
"""Regimes that no second fault ends: without power nothing runs, and a compressor that does not run does not cool."""


@lru_cache(maxsize=8192)
def together(first: Node, second: Node, first_anywhere: float, second_anywhere: float) -> tuple[Node, ...]:
    """Two nodes at once, in each regime in which they can be: that of both, of what stands still, or of either.

    The one that sets the regime counts with its weight, the other with that of its severity `anywhere`.
    """
    if first.regime == second.regime:
        bath, spread = max(first.bath, second.bath), max(first.bath_spread, second.bath_spread)
        return (_at(first, second, first.weight * second_anywhere, bath, spread),)
    by_first, by_second = first.weight * second_anywhere, second.weight * first_anywhere
    for regime in LASTING:
        if first.regime == regime:
            return (_at(first, second, by_first, first.bath, first.bath_spread),)
        if second.regime == regime:
            return (_at(second, first, by_second, second.bath, second.bath_spread),)
    return (
        _at(first, second, 0.5 * by_first, first.bath, first.bath_spread),
        _at(second, first, 0.5 * by_second, second.bath, second.bath_spread),
    )


def _at(place: Node, other: Node, weight: float, bath: float, bath_spread: float) -> Node:
    """What two nodes change, in the regime of the first."""
    effects = dict(place.effects)
    for name, value in other.effects.items():
        healthy = EFFECTS[name]
        here = effects.get(name, healthy)
        if name in MULTIPLIED:
            effects[name] = here * value
        elif name in LOWER:
            effects[name] = min(here, value)
        else:
            effects[name] = here + value - healthy
    spread = {
        name: max(place.spread.get(name, 0.0), other.spread.get(name, 0.0))
        for name in place.spread.keys() | other.spread.keys()
    }
    return Node(weight, place.regime, bath, bath_spread, effects, spread)
