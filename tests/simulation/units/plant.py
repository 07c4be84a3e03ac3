"""The unit over time: bath, load, thermostat, and what could be read at an instant with perfect instruments."""

from dataclasses import dataclass
from functools import cached_property
from math import exp
from random import Random

from tests.simulation.units.cycle import Around, Cycle, solve
from tests.simulation.units.glycol import between, heat_per_litre, viscosity
from tests.simulation.units.situation import Situation
from tests.simulation.units.unit import Trunk, Unit

STEP = 30.0  # s
DELAY = 180.0  # s that a compressor stays off at least
TRIP = 63.0  # degC condensing at which the overload opens
PINT = 0.4732 * 4.0  # kJ/K, beer as water with 4 % less, common practice
TANK = 0.0022  # kW/K through the walls of the bath
TOWER = 0.06  # kW of a tower


@dataclass(frozen=True, slots=True)
class Moment:
    """One instant: bath in degC, whether the compressor runs, and for how long it has run or rested, s."""

    bath: float
    runs: bool
    since: float
    rate: float  # of the bath, K/s


class Plant:
    """A unit in a situation."""

    def __init__(self, unit: Unit, situation: Situation) -> None:
        self.unit, self.now = unit, situation
        self._cycles: dict[float, Cycle] = {}

    def around(self, bath: float) -> Around:
        """The circuit's surroundings with that bath."""
        now, unit = self.now, self.unit
        stirred = (viscosity(35.0, -2.0) / viscosity(now.strength, min(bath, 5.0))) ** 0.2
        stirred *= 1.0 if self.flow() > 0.0 else 0.8
        return Around(
            bath=bath,
            air=now.ambient,
            air_density=unit.air_density * 305.0 / (now.ambient + 273.15),
            air_flow=now.air_flow if now.fan_turns else 0.05,
            fouling=now.fouling,
            recirculated=now.recirculated,
            evaporator=now.evaporator * stirred * min(1.0, now.level / 0.85) ** 0.8,
            metering=now.metering,
            charge=now.charge,
            leak=now.leak,
            foreign_gas=now.foreign_gas,
            lowest_condensing=unit.lowest_condensing,
        )

    def cycle(self, bath: float) -> Cycle:
        """The running circuit with that bath, to a hundredth of a kelvin."""
        known = round(bath, 2)
        if known not in self._cycles:
            self._cycles[known] = solve(self.unit.circuit, self.around(known))
        return self._cycles[known]

    @cached_property
    def nodes(self) -> tuple[tuple[float, Cycle], ...]:
        """The running circuit at a few bath temperatures."""
        low = self.now.cut_out - 3.0
        return tuple((bath, self.cycle(bath)) for bath in (low, low + 6.0, 12.0, 30.0))

    @cached_property
    def cooling(self) -> tuple[tuple[float, float], ...]:
        """Heat taken by the running circuit at those temperatures, kW."""
        return tuple((bath, cycle.cooling) for bath, cycle in self.nodes)

    @cached_property
    def trips(self) -> bool:
        """Whether the compressor stops by its overload after a few minutes."""
        return max(cycle.condensing for _, cycle in self.nodes[:2]) > TRIP or not self.now.compressor_starts

    def flow(self) -> float:
        """Glycol through the loop, L/h."""
        now, unit = self.now, self.unit
        if not (now.powered and now.pump_turns and now.pump_coupled):
            return 0.0
        thin = viscosity(35.0, -2.0) / viscosity(now.strength, -2.0)
        open_share = sum(now.blocked_trunks.get(trunk.code, 1.0) for trunk in unit.trunks) / len(unit.trunks)
        return unit.flow * now.flow * thin ** (0.1 if unit.positive_displacement else 0.35) * (0.5 + 0.5 * open_share)

    def trunk_load(self, trunk: Trunk, bath: float) -> float:
        """Heat into the glycol of a trunk, kW."""
        wet = self.now.wet_trunks.get(trunk.code, 1.0)
        surroundings = [
            self.now.cooler if around == "cooler" else (degrees - 32.0) / 1.8 + self.now.room
            for around, _, degrees in trunk.runs
        ]
        gains = zip(trunk.conductances, surroundings, strict=True)
        standing = sum(wet * conductance * (warm - bath) for conductance, warm in gains)
        kegs = [self.now.warm_kegs.get(tap, self.now.keg) for tap in trunk.taps]
        mean = sum(kegs) / len(kegs)
        passed = 1.0 - exp(-trunk.units_of_transfer)
        pours = self.now.pints / len(self.unit.trunks) / 3600.0 * PINT * (mean - bath) * passed
        return standing + pours + TOWER

    def load(self, bath: float) -> float:
        """Heat into the bath, kW."""
        tank = TANK * (self.now.ambient - bath)
        if not self.flow():
            return tank + (0.5 * self.unit.pump_power if self.now.powered and self.now.pump_turns else 0.0)
        trunks = sum(
            self.trunk_load(trunk, bath) * min(1.0, 3.0 * self.now.blocked_trunks.get(trunk.code, 1.0))
            for trunk in self.unit.trunks
        )
        return tank + trunks + 0.85 * self.unit.pump_power

    @cached_property
    def capacity(self) -> float:
        """Heat capacity of bath, loop and metal, kJ/K."""
        loop = sum(trunk.feet for trunk in self.unit.trunks) * 0.043
        return (self.unit.litres * self.now.level + loop) * heat_per_litre(self.now.strength) + 6.0

    def run(self, start: Moment, seconds: float, rng: Random) -> list[Moment]:
        """The moments every 30 s from a start on."""
        moments, now = [start], start
        trip, reset = rng.uniform(100.0, 220.0), rng.uniform(240.0, 500.0)
        cold, slope = self.load(0.0), self.load(1.0) - self.load(0.0)
        for _ in range(int(seconds / STEP)):
            rate = (
                cold + slope * now.bath - (between_open(self.cooling, now.bath) if now.runs else 0.0)
            ) / self.capacity
            bath = now.bath + rate * STEP
            runs = self._runs(now, bath, trip, reset)
            now = Moment(bath, runs, now.since + STEP if runs == now.runs else 0.0, rate)
            moments.append(now)
        return moments

    def _runs(self, now: Moment, bath: float, trip: float, reset: float) -> bool:
        situation = self.now
        if not situation.powered or situation.controller_dark or situation.refrigeration_off:
            return False
        if not situation.compressor_starts:
            return False
        felt = bath + situation.sensor_error
        if now.runs:
            return felt > situation.cut_out and not (self.trips and now.since >= trip)
        return felt > situation.cut_in and now.since >= (reset if self.trips else DELAY)


def between_open(points: tuple[tuple[float, float], ...], at: float) -> float:
    """Linear interpolation, with the first slope below the first point and the last value beyond the last."""
    (x0, y0), (x1, y1) = points[0], points[1]
    return y0 + (at - x0) * (y1 - y0) / (x1 - x0) if at < x0 else between(points, at)
