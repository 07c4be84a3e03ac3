"""What the unit is doing at one moment of a visit, with its probability.

Each thing that was measured multiplies the prior probability of each state by how likely it is in that state (Bayes'
rule, the things taken as independent). Priors and likelihoods are judged, common practice, no source, but for what
their comments name. What was not measured says nothing.
"""

from dataclasses import dataclass
from functools import lru_cache

from service.domain.assessment.clues import LOOKS, OF_MOTORS, equal_while_running
from service.domain.assessment.evidence import Evidence
from service.domain.assessment.starting import just_started

STATES = ("off", "idle", "starting", "pulling_down", "holding", "satisfied", "short_cycling")
# A warm bath that somebody is called to stands as often as it is pulled down.
PRIOR = (0.06, 0.09, 0.05, 0.22, 0.33, 0.21, 0.04)
RUNS = (0.0, 0.0, 1.0, 1.0, 1.0, 0.0, 0.5)  # whether the compressor runs in that state
UNKNOWN = "unknown"
HOLDING, SATISFIED = STATES.index("holding"), STATES.index("satisfied")
CONTRARY = 0.1  # of the likelihood at rest: less speaks strongly against running
CERTAIN = 0.5  # the probability below which the state is called unknown
ONE_OF_THESE = 0.5  # a compressor between equal pressures as likely pumps nothing, which is none of the states; judged
FLOOR = 0.01  # nothing is ever excluded by one reading


@dataclass(frozen=True, slots=True)
class OperatingState:
    """The likeliest state, or unknown; its probability; what it follows from; probability that the compressor runs.

    `contrary` is whether one of the things measured speaks strongly for rest: they may be minutes apart.
    """

    state: str
    probability: float
    evidence: tuple[str, ...]
    running: float = 0.69
    contrary: bool = False

    @property
    def at_rest(self) -> bool:
        """Whether the compressor more likely stands than runs."""
        return self.running < 0.5

    @property
    def settled(self) -> bool:
        """Whether it runs and has run long enough for figures of steady running."""
        return not self.at_rest and not self.contrary and self.state not in ("starting", "short_cycling")


@lru_cache(maxsize=32)
def operating_state(evidence: Evidence) -> OperatingState:
    """The operating state at one moment, unknown where no state is more likely than all others together.

    Right after a start, pressures, heat and bath are on their way and say nothing of what it does in steady running.
    """
    looks = LOOKS if just_started(evidence) is None else OF_MOTORS
    clues = [clue for look in looks for clue in look(evidence)]
    weights = list(PRIOR)
    for clue in clues:
        weights = [weight * max(like, FLOOR) for weight, like in zip(weights, clue.likelihood, strict=True)]
    total = sum(weights)
    probabilities = [weight / total for weight in weights]
    running = sum(chance * runs for chance, runs in zip(probabilities, RUNS, strict=True))
    if equal_while_running(evidence) is not None:
        probabilities = [each * ONE_OF_THESE for each in probabilities]
    best = max(probabilities)
    state = STATES[probabilities.index(best)] if clues and best > CERTAIN else UNKNOWN
    contrary = any(clue.likelihood[HOLDING] < CONTRARY * clue.likelihood[SATISFIED] for clue in clues)
    return OperatingState(state, best, tuple(clue.text for clue in clues), running, contrary)
