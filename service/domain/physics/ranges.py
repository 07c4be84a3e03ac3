"""The range in which a formula holds, and the refusal outside it."""

from dataclasses import dataclass


class OutOfRange(ValueError):
    """A value outside the range in which the formula holds: which quantity, the value, the limits."""

    def __init__(self, name: str, value: float, low: float, high: float, unit: str) -> None:
        self.name, self.value, self.low, self.high, self.unit = name, value, low, high, unit
        super().__init__(f"{name} is {value:g} {unit}; it must lie from {low:g} to {high:g} {unit}")


@dataclass(frozen=True, slots=True)
class Range:
    """Limits of one quantity, both of them inside; `unit` is SI, "-" for a ratio."""

    name: str
    low: float
    high: float
    unit: str

    def check(self, value: float) -> float:
        """Return the value, or raise OutOfRange; NaN lies in no range."""
        if not self.low <= value <= self.high:
            raise OutOfRange(self.name, value, self.low, self.high, self.unit)
        return value
