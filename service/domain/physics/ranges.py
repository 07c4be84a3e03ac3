"""The range in which a formula holds, and the error for values outside it."""

from dataclasses import dataclass

# The dimension for each unit; a temperature difference is also in K and is named explicitly.
DIMENSIONS = {
    "K": "temperature",
    "Pa": "pressure",
    "m3": "volume",
    "m": "length",
    "kg": "mass",
    "kg/kg": "mass_fraction",
    "m3/m3": "volume_fraction",
    "Brix": "brix",
    "A": "current",
    "V": "voltage",
    "W": "power",
    "s": "time",
}
ROUNDING = 1e-9
"""[SI or -]: what arithmetic may add to a value; two values closer than this are the same."""


@dataclass(frozen=True, slots=True)
class Range:
    """Limits of one quantity, both inclusive.

    `unit` is SI, "-" for a ratio; `dimension` is the one for display, None where there is none; `detail` follows the
    name in messages, such as the refrigerant.
    """

    name: str
    low: float
    high: float
    unit: str
    dimension: str | None = None
    detail: str = ""

    def __post_init__(self) -> None:
        if self.dimension is None:
            object.__setattr__(self, "dimension", DIMENSIONS.get(self.unit))

    def check(self, value: float) -> float:
        """Return the value, or raise OutOfRange; NaN is in no range."""
        if not self.low <= value <= self.high:
            raise OutOfRange(self, value)
        return value


class OutOfRange(ValueError):
    """A value outside the range in which the formula holds."""

    def __init__(self, limits: Range, value: float) -> None:
        self.limits, self.value, self.dimension = limits, value, limits.dimension
        self.low, self.high, self.unit = limits.low, limits.high, limits.unit
        self.name = f"{limits.name} {limits.detail}".rstrip()
        super().__init__(
            f"{self.name} is {value:g} {self.unit}; it must be from {self.low:g} to {self.high:g} {self.unit}"
        )


def above(value: float, limit: float) -> bool:
    """Whether a value lies over a limit by more than rounding: 0.38 - 0.35 is not over 0.03.

    >>> above(0.38 - 0.35, 0.03), above(0.0301, 0.03)
    (False, True)
    """
    return value > limit + ROUNDING


def below(value: float, limit: float) -> bool:
    """Whether a value lies under a limit by more than rounding: 2.4 / 6 is not under 0.4.

    >>> below(2.4 / 6.0, 0.4), below(0.3999, 0.4)
    (False, True)
    """
    return value < limit - ROUNDING
