"""Temperatures of the glasses after a standstill: first the beer in the line, then beer from the keg."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

from service.domain.physics.lines.beer import BEER_DENSITY, BEER_SPECIFIC_HEAT
from service.domain.physics.lines.heat_gain import CORE
from service.domain.physics.lines.trunk import BORE, CONDUCTANCE, ELAPSED, HEAT_CAPACITY, Bundle, Run, total_length
from service.domain.physics.lines.trunk_cells import cell_runs, exchange, exchanged
from service.domain.physics.lines.trunk_profile import Profile
from service.domain.physics.ranges import Range

if TYPE_CHECKING:  # numpy is imported where it is used: the command line starts without it
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

CELLS = 120
POURED = Range("beer poured, in fillings of the line", 0.0, 200.0, "-")
BEER, CORE_ROW, HEAT, GLYCOL, ONE = range(5)  # the state of one cell


@dataclass(frozen=True, slots=True)
class Line:
    """One beer line and its neighbours in the bundle.

    Bore [m]; conductance to the core [W/(m K)]; heat capacity of the rest of one metre of bundle, standing glycol
    included where the pump is off [J/(m K)]; beer as it leaves the keg [K]; line and bundle as the last pour left
    them [K].
    """

    bore: float
    conductance: float
    rest_heat_capacity: float
    keg: float
    start: float

    def __post_init__(self) -> None:
        BORE.check(self.bore)
        CONDUCTANCE.check(self.conductance)
        HEAT_CAPACITY.check(self.rest_heat_capacity)
        CORE.check(self.keg)
        CORE.check(self.start)

    @property
    def area(self) -> float:
        """Cross-section [m2]."""
        return pi * self.bore**2 / 4.0

    @property
    def heat_capacity(self) -> float:
        """Of one metre of its beer [J/(m K)]."""
        return self.area * BEER_DENSITY * BEER_SPECIFIC_HEAT


@dataclass(frozen=True, slots=True)
class Glasses:
    """What is poured: how many glasses, of what volume [m3], how fast [m3/s], how long between two of them [s]."""

    count: int
    volume: float
    flow: float
    pause: float = 0.0

    def __post_init__(self) -> None:
        Range("number of glasses", 1, 1000, "-").check(self.count)
        Range("volume of a glass", 1e-5, 0.02, "m3").check(self.volume)
        Range("pour rate", 1e-6, 1e-3, "m3/s").check(self.flow)
        Range("pause between glasses", 0.0, 1e6, "s").check(self.pause)


@dataclass(frozen=True, slots=True)
class Poured:
    """The mean temperature of each glass [K], and where the heat went.

    Heat taken from surroundings and glycol [J], heat that beer and bundle hold more than at first [J], heat that the
    poured beer carried off above the keg's temperature [J]: the first is the sum of the other two.
    """

    glasses: tuple[float, ...]
    standing: tuple[float, ...]
    heat_taken: float
    heat_held: float
    heat_poured: float


def pour_after_standstill(
    runs: Sequence[Run],
    bundle: Bundle,
    line: Line,
    *,
    glasses: Glasses,
    standstill: float,
    glycol: Profile | None,
) -> Poured:
    """Simulate one line through a standstill and the glasses after it.

    .. math::
        C_b (dT_b/dt + v dT_b/dx) = G_b (T_c - T_b), \\quad
        C_c dT_c/dt = (T_a - T_c) / R' + 2 G_g (T_g - T_c) + G_b (T_b - T_c)

    Parameters
    ----------
    runs : sequence of Run
        from the cooler to the tap, together 0.1 to 500 m; the tower may be the last [m, K, m K/W]
    bundle : Bundle
        of which the glycol's conductance counts here [W/(m K)]
    line : Line
        the line, its surroundings in the bundle, keg and start [m, W/(m K), J/(m K), K, K]
    glasses : Glasses
        count, volume, pour rate and pause [-, m3, m3/s, s]
    standstill : float
        time since the last pour, 0 to 1e7 [s]
    glycol : Profile or None
        the glycol's temperatures as `trunk_profile` finds them for standing beer; None where the pump is off [K]

    Returns
    -------
    Poured
        glasses in the order poured, the line at the end of the standstill from keg to tap, and the heat [K, J]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    The glycol keeps its profile while beer is poured, which is right while it has more flow than the tap or the line
    holds its cold. Faucet and shank are not in it: they warm the first glass by another degree where they stand warm.

    References
    ----------
    F. P. Incropera et al., *Fundamentals of Heat and Mass Transfer*, section 5.1 (the balances). Exchange by matrix
    exponential, see `trunk_cells`; T. E. W. Schumann, J. Franklin Institute 208 (1929) solved it without losses.

    Examples
    --------
    Common practice, no source: beer leaves a 35 degF (274.8 K) cooler, stands overnight uncooled in ground of 60 degF
    (288.7 K), and the first glass pours near the ground's temperature.

    >>> line = Line(bore=0.009525, conductance=1.0, rest_heat_capacity=500.0, keg=274.8, start=274.8)
    >>> ten = Glasses(count=10, volume=4.73e-4, flow=5.9e-5)
    >>> poured = pour_after_standstill(
    ...     [Run(30.0, 288.7, 3.0)], Bundle(1.0, 1.0), line, glasses=ten, standstill=43200.0, glycol=None
    ... )
    >>> poured.glasses[0]
    288.7
    """
    ELAPSED.check(standstill)
    length = total_length(runs)
    POURED.check(glasses.count * glasses.volume / (length * line.area))
    cells, slopes = cell_runs(runs, CELLS), _slopes(runs, bundle, line, running=glycol is not None)
    before = _fill(length, line, glycol)
    rested = exchanged(exchange(cells, slopes, standstill), before)
    step = length / CELLS * line.area / glasses.flow
    half, pause = exchange(cells, slopes, step / 2.0), exchange(cells, slopes, glasses.pause)
    outflow, after = _drain(rested, half, pause, line=line, ends=_ends(glasses, length * line.area / CELLS))
    held = (
        length / CELLS * float(((after - before) @ [line.heat_capacity, line.rest_heat_capacity, 0.0, 0.0, 0.0]).sum())
    )
    return Poured(
        glasses=_mix(outflow, _ends(glasses, length * line.area / CELLS)),
        standing=tuple(float(value) for value in rested[:, BEER]),
        heat_taken=length / CELLS * float((after - before)[:, HEAT].sum()),
        heat_held=held,
        heat_poured=length / CELLS * line.heat_capacity * float((outflow - line.keg).sum()),
    )


def _slopes(runs: Sequence[Run], bundle: Bundle, line: Line, *, running: bool) -> "dict[Run, Array]":
    """Return each run's rates of change of a cell's state: beer, core, heat taken so far [J/m], glycol, 1."""
    import numpy as np

    slopes, to_glycol = {}, 2.0 * bundle.glycol_conductance if running else 0.0
    for run in runs:
        taken = np.zeros(5)
        taken[[CORE_ROW, GLYCOL, ONE]] = -to_glycol - 1.0 / run.resistance, to_glycol, run.surroundings / run.resistance
        slope = np.zeros((5, 5))
        slope[HEAT] = taken
        slope[CORE_ROW] = taken
        slope[CORE_ROW, [BEER, CORE_ROW]] += np.array([1.0, -1.0]) * line.conductance
        slope[CORE_ROW] /= line.rest_heat_capacity
        slope[BEER, [BEER, CORE_ROW]] = np.array([-1.0, 1.0]) * line.conductance / line.heat_capacity
        slopes[run] = slope
    return slopes


def _fill(length: float, line: Line, glycol: Profile | None) -> "Array":
    """Return the cells as the last pour left them."""
    import numpy as np

    states = np.tile(np.array([line.start, line.start, 0.0, line.start, 1.0]), (CELLS, 1))
    if glycol is not None:
        middles = (np.arange(CELLS) + 0.5) * length / CELLS
        states[:, GLYCOL] = np.interp(middles, glycol.position, np.add(glycol.supply, glycol.back) / 2.0)
    return states


def _ends(glasses: Glasses, cell: float) -> "Array":
    """Return where each glass begins and ends, in cells poured."""
    import numpy as np

    return np.linspace(0.0, glasses.count * glasses.volume / cell, glasses.count + 1)


def _drain(states: "Array", half: "Array", pause: "Array", *, line: Line, ends: "Array") -> "tuple[Array, Array]":
    """Return the temperature of each cell that leaves at the tap, and the cells after the last."""
    import numpy as np

    pauses = set(np.rint(ends[1:-1]).astype(int).tolist())
    outflow = []
    for poured in range(int(np.ceil(ends[-1] - 1e-9))):
        if poured in pauses:
            states = exchanged(pause, states)
        states = exchanged(half, states)
        outflow.append(states[-1, BEER])
        states[1:, BEER] = states[:-1, BEER].copy()
        states[0, BEER] = line.keg
        states = exchanged(half, states)
    return np.array(outflow), states


def _mix(outflow: "Array", ends: "Array") -> tuple[float, ...]:
    """Return the mean temperature of each glass."""
    import numpy as np

    warmth = np.concatenate([[0.0], np.cumsum(outflow)])
    filled = np.interp(ends, np.arange(len(warmth)), warmth)
    return tuple(float(value) for value in np.diff(filled) / np.diff(ends))
