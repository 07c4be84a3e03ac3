"""What a finding is computed from or computes."""

from dataclasses import dataclass

from service.domain.quantities import Quantity


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A figure with its standard uncertainty, in the SI unit of its dimension; `entered` is the text of a reading."""

    value: float
    dimension: str
    uncertainty: float
    entered: str = ""


Figure = Quantity | Uncertain | float | str
