"""What the fleet shows of how its units drift: what is used where a unit's own readings are few."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from service.domain.condition.parts import PartsSeen
from service.domain.maintenance.fouling import Fouling
from service.domain.statistics.drift import Drift


@dataclass(frozen=True, slots=True)
class Learned:
    """Drifts by figure, and by figure and surroundings as `figure/surroundings`; empty before anything is learned.

    `fouling` is the time to heavy by task and surroundings, as `task/surroundings`. `parts` is how often components
    were replaced at visits.
    """

    drifts: Mapping[str, Drift] = field(default_factory=dict)
    fouling: Mapping[str, Fouling] = field(default_factory=dict)
    parts: tuple[PartsSeen, ...] = ()

    def drift(self, of: str, surroundings: str | None, usual: Drift) -> Drift:
        """How a figure drifts in surroundings of this class, else in all, else as usual without a fleet."""
        return self.drifts.get(f"{of}/{surroundings}") or self.drifts.get(of) or usual


NOTHING_LEARNED = Learned()
