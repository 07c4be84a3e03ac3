"""What is foreseen of a unit: what its due dates need beside the record of its tasks."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from service.domain.maintenance.fouling import Fouling


@dataclass(frozen=True, slots=True)
class Reached:
    """When a figure reaches its limit with a chance of 10 %, None where it is steady, and the sentence that says so.

    `read_on` is the day of its latest reading; `crossed`: it has reached the limit.
    """

    on: date | None
    read_on: date
    crossed: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class Foreseen:
    """Fouling by task and surroundings as `task/surroundings`, as the fleet shows it, and a unit's figures by name."""

    fouling: Mapping[str, Fouling] = field(default_factory=dict)
    figures: Mapping[str, Reached] = field(default_factory=dict)


NOTHING_FORESEEN = Foreseen()
