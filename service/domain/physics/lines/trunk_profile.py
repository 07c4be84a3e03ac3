"""Steady temperatures along a trunk: glycol supply and return, core, beer."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from service.domain.physics.lines.trunk import BeerFlow, Bundle, GlycolFlow, Run, total_length
from service.domain.physics.ranges import Range

if TYPE_CHECKING:  # numpy is imported where it is used: the command line starts without it
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

TRANSFER_UNITS = Range("glycol transfer units, conductance times length over capacity rate", 0.0, 20.0, "-")
STEPS = Range("steps in a run", 1, 10_000, "-")


@dataclass(frozen=True, slots=True)
class Profile:
    """Temperatures [K] at places along the trunk [m], and the heat taken up from the surroundings [W].

    Supply and return are empty where the glycol stands.
    """

    position: tuple[float, ...]
    supply: tuple[float, ...]
    back: tuple[float, ...]
    core: tuple[float, ...]
    beer: tuple[float, ...]
    heat: float


@dataclass(frozen=True, slots=True)
class _Stream:
    """One liquid: capacity rate [W/K], negative where it flows towards the cooler, and conductance [W/(m K)]."""

    rate: float
    conductance: float


def trunk_profile(
    runs: Sequence[Run], bundle: Bundle, *, glycol: GlycolFlow | None, beer: BeerFlow | None, steps: int = 20
) -> Profile:
    """Solve the steady temperatures along a trunk, with glycol running or off, with beer flowing or standing.

    .. math::
        C_i dT_i/dx = \\pm G_i (T_c - T_i), \\quad (T_a - T_c) / R' + \\sum G_i (T_i - T_c) = 0

    with supply and beer given at the cooler, and the return at the taps equal to the supply plus tower heat over
    capacity rate. Linear with constant coefficients in each run, so solved by the matrix exponential.

    Parameters
    ----------
    runs : sequence of Run
        from the cooler to the taps, together 0.1 to 500 m [m, K, m K/W]
    bundle : Bundle
        conductances to the core [W/(m K)]
    glycol : GlycolFlow or None
        entering glycol, None where the pump is off [K, W/K, W]
    beer : BeerFlow or None
        entering beer, None where it stands [K, W/K]
    steps : int
        places to show in each run, 1 to 10000; the solution is exact at any number [-]

    Returns
    -------
    Profile
        temperatures along the trunk and heat taken up [m, K, W]

    Raises
    ------
    OutOfRange
        outside these limits; more than 20 glycol transfer units, where next to no glycol flows

    Notes
    -----
    One-dimensional; no heat along the trunk. Standing beer is given at its end state, the core's temperature;
    `trunk_pour` gives the state after a given time.

    References
    ----------
    F. P. Incropera et al., *Fundamentals of Heat and Mass Transfer*, sections 8.3 and 11.3 (the balances).
    C. Moler, C. Van Loan, "Nineteen Dubious Ways to Compute the Exponential of a Matrix", SIAM Review 45 (2003).

    Examples
    --------
    Standing glycol and standing beer end at the surroundings' temperature:

    >>> trunk_profile([Run(30.0, 289.0, 3.0)], Bundle(1.0, 2.0), glycol=None, beer=None).beer[-1]
    289.0

    150 ft of trunk in 75 degF air, 100 gal/h: the glycol comes back 0.8 K warmer.

    >>> flow = GlycolFlow(supply=270.4, capacity_rate=405.7)
    >>> trunk_profile([Run(45.7, 297.0, 3.394)], Bundle(0.9, 5.0), glycol=flow, beer=None).back[0] - flow.supply
    0.8
    """
    import numpy as np

    length = total_length(runs)
    STEPS.check(steps)
    streams: list[_Stream] = []
    if glycol is not None:
        TRANSFER_UNITS.check(bundle.glycol_conductance * length / glycol.capacity_rate)
        streams += [_Stream(sign * glycol.capacity_rate, bundle.glycol_conductance) for sign in (1.0, -1.0)]
    if beer is not None:
        streams.append(_Stream(beer.capacity_rate, bundle.beer_conductance))
    grown = _grow(runs, streams, steps)
    start = _start(grown[-1], glycol, beer)
    states = grown @ start
    core = np.array([_core_row(run, streams) @ state for run, state in zip(_spread(runs, steps), states, strict=True)])
    return _profile(runs, states, core, glycol=glycol, beer=beer)


def _core_row(run: Run, streams: Sequence[_Stream]) -> "Array":
    """Return the weights that make the core's temperature out of those of the streams and 1."""
    import numpy as np

    weights = np.array([*(stream.conductance for stream in streams), run.surroundings / run.resistance])
    return weights / (sum(stream.conductance for stream in streams) + 1.0 / run.resistance)


def _grow(runs: Sequence[Run], streams: Sequence[_Stream], steps: int) -> "Array":
    """Return, for every place shown, the matrix that takes the state at the cooler there."""
    import numpy as np
    from scipy.linalg import expm  # type: ignore[import-untyped]  # scipy ships no types

    places = [np.eye(len(streams) + 1)]
    for run in runs:
        slope = np.zeros_like(places[0])
        for row, stream in enumerate(streams):
            slope[row] = _core_row(run, streams) * stream.conductance / stream.rate
            slope[row, row] -= stream.conductance / stream.rate
        step = expm(slope * run.length / steps)
        for _ in range(steps):
            places.append(step @ places[-1])
    return np.array(places)


def _start(through: "Array", glycol: GlycolFlow | None, beer: BeerFlow | None) -> "Array":
    """Return the state at the cooler; the return there is what makes it meet the supply at the taps."""
    import numpy as np

    known = np.array([*([glycol.supply, 0.0] if glycol else []), *([beer.inlet] if beer else []), 1.0])
    if glycol is not None:
        gap = through[1] - through[0]
        known[1] = (glycol.tower_heat / glycol.capacity_rate - gap @ known) / gap[1]
    return known


def _spread(runs: Sequence[Run], steps: int) -> list[Run]:
    """Return the run that each place shown belongs to; the first place belongs to the first run."""
    return [runs[0], *(run for run in runs for _ in range(steps))]


def _profile(
    runs: Sequence[Run], states: "Array", core: "Array", *, glycol: GlycolFlow | None, beer: BeerFlow | None
) -> Profile:
    """Return the profile with its heat: what the liquids have gained between their ends."""
    import numpy as np

    steps = (len(states) - 1) // len(runs)
    position = np.concatenate([[0.0], np.cumsum([run.length / steps for run in runs for _ in range(steps)])])
    supply, back = (states[:, 0], states[:, 1]) if glycol else (core[:0], core[:0])
    lines = states[:, -2] if beer else core
    heat = float(glycol.capacity_rate * (back[0] - supply[0]) - glycol.tower_heat) if glycol else 0.0
    heat += float(beer.capacity_rate * (lines[-1] - lines[0])) if beer else 0.0
    return Profile(_floats(position), _floats(supply), _floats(back), _floats(core), _floats(lines), heat)


def _floats(column: "Array") -> tuple[float, ...]:
    """Return an array as plain floats."""
    return tuple(float(value) for value in column)
