"""How long warm beer lines take to come down once the glycol runs again, and the bath with them."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from service.domain.physics.lines.heat_gain import CORE
from service.domain.physics.lines.trunk import CAPACITY_RATE, HEAT_CAPACITY, Bundle, GlycolFlow, Run, total_length
from service.domain.physics.lines.trunk_cells import cell_runs, exchange, exchanged
from service.domain.physics.lines.trunk_profile import Profile, trunk_profile
from service.domain.physics.ranges import Range

if TYPE_CHECKING:  # numpy is imported where it is used: the command line starts without it
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

FEWEST_CELLS, MOST_CELLS = 4, 40
SHOWN = 100
EVERY = 60.0  # [s] between moments kept
SUPPLY, BACK, BEER, HEAT, ONE = range(5)  # the state of one cell
FILLING = Range("time in which the glycol fills the supply tube", 2.0, 4800.0, "s")
CELL_SHARE = Range("glycol in one cell of the tube over the bath, as heat capacity", 0.0, 0.2, "-")
PATIENCE = 43200.0
"""[s]: what takes longer than twelve hours is answered as never."""


@dataclass(frozen=True, slots=True)
class Bath:
    """A bath and its refrigeration.

    Temperature at first [K], set point [K], heat capacity with its metal [J/K], cooling power while above the set
    point [W].
    """

    start: float
    set_point: float
    heat_capacity: float
    cooling_power: float

    def __post_init__(self) -> None:
        CORE.check(self.start)
        CORE.check(self.set_point)
        Range("heat capacity of the bath", 1e3, 1e8, "J/K").check(self.heat_capacity)
        Range("cooling power", 0.0, 1e5, "W").check(self.cooling_power)


@dataclass(frozen=True, slots=True)
class Loop:
    """The glycol in the trunk and what it has to cool there.

    Heat capacity rate [W/K], heat capacity of one metre of one glycol tube [J/(m K)], heat capacity of beer and
    tubes in one metre of bundle [J/(m K)], their temperature at first [K], heat taken up at the tower [W].
    """

    capacity_rate: float
    tube_heat_capacity: float
    beer_heat_capacity: float
    start: float
    tower_heat: float = 0.0

    def __post_init__(self) -> None:
        CAPACITY_RATE.check(self.capacity_rate)
        HEAT_CAPACITY.check(self.tube_heat_capacity)
        HEAT_CAPACITY.check(self.beer_heat_capacity)
        CORE.check(self.start)
        Range("heat taken up at the tower", 0.0, 1e4, "W").check(self.tower_heat)


@dataclass(frozen=True, slots=True)
class CoolDown:
    """How the lines came down.

    Time until the warmest beer reached the target, infinite if it never does [s]; where the warmest settles [K];
    times [s]; warmest beer, mean beer and bath at those times [K]; heat taken up on the way, heat that the
    refrigeration took out, heat that trunk and bath hold more than at first [J]: the third is the first less the
    second.
    """

    seconds: float
    settled: float
    times: tuple[float, ...]
    warmest: tuple[float, ...]
    mean: tuple[float, ...]
    bath: tuple[float, ...]
    heat_taken: float
    heat_removed: float
    heat_held: float


def cool_down(runs: Sequence[Run], bundle: Bundle, loop: Loop, *, bath: Bath, target: float) -> CoolDown:
    """Follow standing warm beer lines while the glycol cools them, until the warmest place is at the target.

    .. math::
        C_g (dT_s/dt + v dT_s/dx) = G_g (T_c - T_s), \\quad C_g (dT_r/dt - v dT_r/dx) = G_g (T_c - T_r), \\quad
        C_b dT_b/dt = G_b (T_c - T_b), \\quad C dT_{bath}/dt = C_v (T_r(0) - T_{bath}) - P

    with the core's temperature from its balance without storage (`trunk_profile`). The refrigeration takes out its
    whole power until the bath is at its set point and from then on what comes back.

    Parameters
    ----------
    runs : sequence of Run
        from the cooler to the taps, together 0.1 to 500 m [m, K, m K/W]
    bundle : Bundle
        conductances to the core [W/(m K)]
    loop : Loop
        flow, heat capacities, start, tower [W/K, J/(m K), J/(m K), K, W]
    bath : Bath
        start, set point, heat capacity, cooling power [K, K, J/K, W]
    target : float
        temperature that the warmest beer is to reach, 233.15 to 333.15 [K]

    Returns
    -------
    CoolDown
        time, the way there and its heat [s, K, J]

    Raises
    ------
    OutOfRange
        outside these limits; more than 20 glycol transfer units; a flow that fills the tube in
        under 2 s or over 80 min

    Notes
    -----
    Infinite where the steady profile at the set point is warmer than the target, or after twelve hours. Constant
    cooling power: a warm bath is cooled faster than that, so give the power at the temperature expected.

    References
    ----------
    F. P. Incropera et al., *Fundamentals of Heat and Mass Transfer*, section 5.1 (the balances). Exchange by matrix
    exponential, see `trunk_cells`; T. E. W. Schumann, J. Franklin Institute 208 (1929) solved it without losses.

    Examples
    --------
    Lines at the set point need no time:

    >>> loop = Loop(capacity_rate=200.0, tube_heat_capacity=275.0, beer_heat_capacity=1500.0, start=272.0)
    >>> bath = Bath(start=271.0, set_point=271.0, heat_capacity=1.6e5, cooling_power=850.0)
    >>> cool_down([Run(30.0, 289.0, 3.0)], Bundle(0.9, 5.0), loop, bath=bath, target=276.0).seconds
    0.0
    """
    CORE.check(target)
    filling = FILLING.check(total_length(runs) * loop.tube_heat_capacity / loop.capacity_rate)
    count = min(max(int(filling), FEWEST_CELLS), MOST_CELLS)  # steps of a second or more, where that leaves cells
    width, step = total_length(runs) / count, filling / count
    CELL_SHARE.check(width * loop.tube_heat_capacity / bath.heat_capacity)
    settled = _settled(runs, bundle, loop, bath)
    slopes = {run: _slope(run, bundle, loop) for run in runs}
    moments = _follow(
        exchange(cell_runs(runs, count), slopes, step / 2.0),
        loop,
        bath,
        target=target,
        step=step,
        limit=PATIENCE if settled < target else 0.0,
    )
    return _book(moments, loop, bath, width=width, target=target, settled=settled)


@dataclass(frozen=True, slots=True)
class _Moment:
    """What is booked at one time: cells, bath [K], heat taken at the tower and removed by refrigeration [J]."""

    time: float
    cells: "Array"
    bath: float
    tower: float = 0.0
    removed: float = 0.0

    @property
    def warmest(self) -> float:
        """The warmest beer [K]."""
        return float(self.cells[:, BEER].max())


def _settled(runs: Sequence[Run], bundle: Bundle, loop: Loop, bath: Bath) -> float:
    """Return where the warmest beer ends: with the bath at its set point, or where its power meets the gain."""

    def at(supply: float) -> Profile:
        glycol = GlycolFlow(supply, loop.capacity_rate, loop.tower_heat)
        return trunk_profile(runs, bundle, glycol=glycol, beer=None)

    profile = at(bath.set_point)
    missing = profile.heat + loop.tower_heat - bath.cooling_power
    if missing > 0.0:  # the gain falls in a straight line as the bath warms
        relief = profile.heat - at(bath.set_point + 1.0).heat
        profile = at(min(bath.set_point + missing / relief, CORE.high))
    return max(profile.beer)


def _slope(run: Run, bundle: Bundle, loop: Loop) -> "Array":
    """Return the rates of change of a cell's state: supply, return, beer, heat taken so far [J/m], 1."""
    import numpy as np

    conductances = np.array([bundle.glycol_conductance, bundle.glycol_conductance, bundle.beer_conductance])
    outer = 1.0 / run.resistance
    core = np.array([*conductances, 0.0, outer * run.surroundings]) / (conductances.sum() + outer)
    slope = np.zeros((5, 5))
    capacities = (loop.tube_heat_capacity, loop.tube_heat_capacity, loop.beer_heat_capacity)
    for row, (conductance, capacity) in enumerate(zip(conductances, capacities, strict=True)):
        slope[row] = core * conductance / capacity
        slope[row, row] -= conductance / capacity
    slope[HEAT] = -outer * core
    slope[HEAT, ONE] += outer * run.surroundings
    return slope


def _follow(half: "Array", loop: Loop, bath: Bath, *, target: float, step: float, limit: float) -> "list[_Moment]":
    """Return the moments from the start until the target or the time is reached; the last two are one step apart."""
    import numpy as np

    states = np.tile(np.array([loop.start, loop.start, loop.start, 0.0, 1.0]), (len(half), 1))
    now = before = _Moment(0.0, states, bath.start)
    kept = [now]
    while now.warmest > target and now.time < limit:
        before, now = now, _advance(now, half, loop, bath, step)
        if now.time >= len(kept) * EVERY:
            kept.append(now)
    return [*(moment for moment in kept if moment.time < before.time), before, now]


def _advance(now: _Moment, half: "Array", loop: Loop, bath: Bath, step: float) -> _Moment:
    """Return the moment one step later: half an exchange, glycol moved on by a cell, half an exchange."""
    cells = exchanged(half, now.cells)
    end, back = cells[-1, SUPPLY], cells[0, BACK]
    cells[1:, SUPPLY] = cells[:-1, SUPPLY].copy()
    cells[:-1, BACK] = cells[1:, BACK].copy()
    cells[0, SUPPLY] = now.bath
    cells[-1, BACK] = end + loop.tower_heat / loop.capacity_rate
    brought = loop.capacity_rate * step * float(back - now.bath)
    surplus = bath.heat_capacity * (now.bath - bath.set_point) + brought
    removed = min(max(surplus, 0.0), bath.cooling_power * step)
    return _Moment(
        time=now.time + step,
        cells=exchanged(half, cells),
        bath=now.bath + (brought - removed) / bath.heat_capacity,
        tower=now.tower + loop.tower_heat * step,
        removed=now.removed + removed,
    )


def _book(moments: "list[_Moment]", loop: Loop, bath: Bath, *, width: float, target: float, settled: float) -> CoolDown:
    """Return the way down with its times and its heat."""
    first, last = moments[0], moments[-1]
    weights = [loop.tube_heat_capacity, loop.tube_heat_capacity, loop.beer_heat_capacity, 0.0, 0.0]
    held = width * float(((last.cells - first.cells) @ weights).sum()) + bath.heat_capacity * (last.bath - first.bath)
    shown = [*moments[:: 1 + len(moments) // SHOWN], last]
    return CoolDown(
        seconds=_crossing(moments, target),
        settled=settled,
        times=tuple(moment.time for moment in shown),
        warmest=tuple(moment.warmest for moment in shown),
        mean=tuple(float(moment.cells[:, BEER].mean()) for moment in shown),
        bath=tuple(moment.bath for moment in shown),
        heat_taken=last.tower + width * float(last.cells[:, HEAT].sum()),
        heat_removed=last.removed,
        heat_held=held,
    )


def _crossing(moments: "list[_Moment]", target: float) -> float:
    """Return when the warmest beer reached the target, by a straight line between the last two moments."""
    before, last = moments[-2:]
    if last.warmest > target:
        return inf
    if before is last:
        return 0.0
    return last.time - (target - last.warmest) / (before.warmest - last.warmest) * (last.time - before.time)
