"""What holds at a unit during a visit besides how it was built: weather, load, glycol, and what is wrong."""

from dataclasses import dataclass, field
from random import Random

from tests.simulation.units.text import celsius
from tests.simulation.units.unit import PLACES, Unit


@dataclass(slots=True)
class Situation:
    """The free parameters of a visit; temperatures in degC. A sound unit at work has the defaults."""

    ambient: float
    room: float  # where the trunk's warm runs are, over what the record says, K
    cooler: float
    keg: float
    pints: float  # an hour
    volts: float
    strength: float
    cut_out: float
    cut_in: float
    warm_kegs: dict[str, float] = field(default_factory=dict)  # tap -> degC
    tap_gains: dict[str, float] = field(default_factory=dict)  # tap -> K
    lines_cleaned: bool = False
    glycol: str = "propylene"
    level: float = 1.0
    air_flow: float = 1.0
    fouling: float = 0.0
    recirculated: float = 0.0
    evaporator: float = 1.0
    metering: float = 1.0
    charge: float = 1.0
    leak: float = 0.0
    foreign_gas: float = 0.0
    pump_turns: bool = True
    pump_coupled: bool = True
    flow: float = 1.0
    air_in_loop: bool = False
    strainer_blocked: bool = False
    blocked_trunks: dict[str, float] = field(default_factory=dict)  # trunk -> share of its flow
    wet_trunks: dict[str, float] = field(default_factory=dict)  # trunk -> times its conductance
    supply: str = "on"  # or where it ends: breaker, cord, switch
    controller_dark: bool = False
    refrigeration_off: bool = False  # switched off at the controller
    compressor_starts: bool = True
    fan_turns: bool = True
    overload: float = 0.0  # current of a dragging compressor over its rating; 0: it does not drag
    terminal_rise: float = 3.0  # K over ambient, of the hottest
    set_to: float | None = None  # what the controller is set to, where that is not the unit's set point
    sensor_error: float = 0.0  # of the controller's own sensor, K
    pump_current: float = 1.0
    bath_probe_error: float = 0.0  # of the technician's bath thermometer, K
    gauge_error: float = 0.0  # kPa
    ammeter_error: float = 0.0  # relative

    @property
    def powered(self) -> bool:
        """Whether the unit has voltage behind its switch."""
        return self.supply == "on"


def draw_situation(rng: Random, unit: Unit) -> Situation:
    """An ordinary day of an ordinary year at the unit's place."""
    low, high = PLACES[unit.place]
    warmth = rng.betavariate(1.6, 1.6)
    ambient = low + (high - low) * warmth
    cooler = celsius(rng.uniform(35.0, 38.5))
    probe = rng.gauss(0.0, 0.5) / 1.8  # a controller's sensor is not perfect either
    return Situation(
        ambient=celsius(ambient),
        room=rng.gauss(0.0, 3.0) + 4.0 * (warmth - 0.5),
        cooler=cooler,
        keg=cooler + rng.uniform(-0.2, 0.6),
        pints=rng.choice((0.0, 0.0, rng.uniform(5, 60), rng.uniform(20, 120))) * len(unit.trunks),
        volts=unit.volts * 1.043 * rng.uniform(0.965, 1.03),
        strength=unit.strength + rng.gauss(0.0, 1.2),
        cut_out=unit.set_point + probe,
        cut_in=unit.set_point + unit.differential + probe,
        level=rng.uniform(0.88, 1.0),
        fouling=rng.uniform(0.0, 0.06),
        air_flow=rng.uniform(0.92, 1.0),
        charge=rng.uniform(0.96, 1.04),
        terminal_rise=rng.uniform(1.0, 9.0),
    )
