"""How figures of a kind drift towards their limits."""

from dataclasses import dataclass

SOURCE = (
    "First passage of a Wiener process with drift (inverse Gaussian distribution): Folks and Chhikara, J. Royal "
    "Statistical Society B 40 (1978) 263-289; degradation data: Meeker and Escobar, Statistical Methods for "
    "Reliability Data, chapter 13; contaminated readings: Tukey 1960; changes of slope: the interacting multiple model "
    "filter of Blom and Bar-Shalom, IEEE Trans. Automatic Control 33 (1988) 780-783 (papers from memory)"
)


@dataclass(frozen=True, slots=True)
class Drift:
    """How a figure drifts towards its limit at units of a kind.

    `slope` is the median per day and `spread` the standard deviation of its logarithm; `noise` is the standard
    deviation of a reading, `wander` that of the figure itself over a day. `steady` is the probability that it does not
    drift at all, `changes` the mean number of changes of its slope a year, `wrong` the share of wrong readings.
    """

    slope: float
    spread: float
    noise: float
    wander: float
    steady: float = 0.0
    changes: float = 0.2
    wrong: float = 0.05
