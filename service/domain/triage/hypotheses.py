"""Hypotheses: one node of an explanation, or of two at once, as arrays for the forward model."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from service.domain.triage.explanation import DEAD, EFFECTS, REGIMES, RESTING, STOPPED, Explanation, Node
from service.domain.triage.fluid import Array, Indices

MULTIPLIED = frozenset({"air_flow", "charge", "opening", "transfer", "load", "loop_flow", "fan", "pump", "drag"})
LOWER = frozenset({"before", "behind", "at_controller", "level"})


@dataclass(frozen=True)
class Hypotheses:
    """Rows of hypotheses: codes, logarithm of the prior, regime (an index of REGIMES), bath over set point, effects."""

    codes: tuple[tuple[str, ...], ...]
    log_prior: Array
    regime: Indices
    bath: Array
    bath_spread: Array
    effects: dict[str, Array]
    spreads: dict[str, Array]  # what each row adds to the standard deviation of a channel
    nodes: tuple[Node, ...]

    def __len__(self) -> int:
        return len(self.codes)

    @cached_property
    def distinct(self) -> tuple[tuple[tuple[str, ...], ...], Indices]:
        """The codes without repetition, and for each row its place among them."""
        listed = {codes: None for codes in self.codes}
        place = {codes: n for n, codes in enumerate(listed)}
        return tuple(listed), np.array([place[codes] for codes in self.codes], dtype=np.intp)

    @property
    def can_run(self) -> Array:
        """In which rows the compressor runs, or runs from time to time."""
        return np.asarray(self.regime <= REGIMES.index(RESTING))

    def take(self, rows: Indices, log_prior: Array, regime: Indices) -> "Hypotheses":
        """Rows chosen by index, with other priors and regimes."""
        chosen = rows.tolist()
        return Hypotheses(
            codes=tuple(self.codes[n] for n in chosen),
            log_prior=log_prior,
            regime=regime,
            bath=self.bath[rows],
            bath_spread=self.bath_spread[rows],
            effects={name: values[rows] for name, values in self.effects.items()},
            spreads={name: values[rows] for name, values in self.spreads.items()},
            nodes=tuple(self.nodes[n] for n in chosen),
        )

    def spread(self, channel: str) -> Array:
        """What each row adds to the standard deviation of a channel."""
        return self.spreads.get(channel, np.zeros(len(self)))


Entry = tuple[tuple[str, ...], float, Node]
"""Codes, prior probability, node."""


def rows(listed: Sequence[Entry]) -> Hypotheses:
    """Hypotheses from codes, prior probability and node."""
    nodes = tuple(node for _, _, node in listed)
    return Hypotheses(
        codes=tuple(codes for codes, _, _ in listed),
        log_prior=np.log(np.array([prior for _, prior, _ in listed])),
        regime=np.array([REGIMES.index(node.regime) for node in nodes]),
        bath=np.array([node.bath for node in nodes]),
        bath_spread=np.array([node.bath_spread for node in nodes]),
        effects=_columns([node.effects for node in nodes], EFFECTS),
        spreads=_columns([node.spread for node in nodes], {name: 0.0 for node in nodes for name in node.spread}),
        nodes=nodes,
    )


def _columns(listed: Sequence[Mapping[str, float]], usual: Mapping[str, float]) -> dict[str, Array]:
    """A column for each name, with the usual value where a row has none."""
    columns = {name: np.full(len(listed), value) for name, value in usual.items()}
    for n, row in enumerate(listed):
        for name, value in row.items():
            columns[name][n] = value
    return columns


def joined(a: Hypotheses, b: Hypotheses) -> Hypotheses:
    """The rows of both."""
    names = a.spreads.keys() | b.spreads.keys()
    return Hypotheses(
        codes=a.codes + b.codes,
        log_prior=np.concatenate([a.log_prior, b.log_prior]),
        regime=np.concatenate([a.regime, b.regime]),
        bath=np.concatenate([a.bath, b.bath]),
        bath_spread=np.concatenate([a.bath_spread, b.bath_spread]),
        effects={name: np.concatenate([a.effects[name], b.effects[name]]) for name in a.effects},
        spreads={name: np.concatenate([a.spread(name), b.spread(name)]) for name in names},
        nodes=a.nodes + b.nodes,
    )


def singles(explanations: Iterable[Explanation], prior: Mapping[str, float]) -> list[Entry]:
    """Every node of every explanation, each explanation's prior shared out by the weights of its nodes."""
    return [((each.code,), prior[each.code] * node.weight, node) for each in explanations for node in each.nodes]


def severities(nodes: Iterable[Node]) -> list[Node]:
    """Of nodes, the best first, that of each severity: they differ in what they change, not only in the regime."""
    found: dict[tuple[tuple[str, float], ...], Node] = {}
    for node in nodes:
        found.setdefault(tuple(sorted(node.effects.items())), node)
    return list(found.values())


LASTING = (DEAD, STOPPED)
"""Regimes that no second fault ends: without power nothing runs, and a compressor that does not run does not cool."""


@lru_cache(maxsize=8192)
def together(first: Node, second: Node) -> tuple[Node, ...]:
    """Two nodes at once, in each regime in which they can be: that of both, of what stands still, or of either."""
    if first.regime == second.regime:
        return (_at(first, second, max(first.bath, second.bath), max(first.bath_spread, second.bath_spread)),)
    for regime in LASTING:
        for place, other in ((first, second), (second, first)):
            if place.regime == regime:
                return (_at(place, other, place.bath, place.bath_spread),)
    return _at(first, second, first.bath, first.bath_spread), _at(second, first, second.bath, second.bath_spread)


def _at(place: Node, other: Node, bath: float, bath_spread: float) -> Node:
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
    return Node(place.weight * other.weight, place.regime, bath, bath_spread, effects, spread)
