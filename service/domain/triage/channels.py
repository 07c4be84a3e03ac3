"""The channels that the forward model predicts, and how far a reading of each scatters about its prediction.

Standard deviations hold instrument, placement, and what the model leaves out: instruments by their makers' limits
(clamp meter 2 to 3 %, thermocouple 1 to 2 K, pipe clamp up to 3 K toward the air, gauge 1 to 2 % of its span),
the model's share judged, common practice, no source.
"""

from dataclasses import dataclass
from itertools import chain


@dataclass(frozen=True, slots=True)
class Channel:
    """One predicted value: its dimension, the standard deviation of a reading [SI], also relative, and its range."""

    name: str
    dimension: str
    scatter: float
    relative: float = 0.0
    width: float = 60.0  # [SI] over which a wrong reading may lie anywhere


PSI = 6894.757
CHANNELS: tuple[Channel, ...] = (
    Channel("bath_rate", "temperature", 0.00035, 0.0, 0.05),  # [K/s]; the scatter holds for 15 min
    Channel("supply", "temperature", 0.45),
    Channel("return", "temperature", 0.45),
    Channel("tap_warm", "temperature", 1.3),
    Channel("tap_cold", "temperature", 1.2),
    Channel("cooler", "temperature", 0.8),
    Channel("keg", "temperature", 0.7),
    Channel("air_out", "temperature", 1.5),
    Channel("suction", "pressure", 1.6 * PSI, 0.02, 120.0 * PSI),
    Channel("discharge", "pressure", 4.0 * PSI, 0.02, 350.0 * PSI),
    Channel("suction_line", "temperature", 1.5),
    Channel("liquid_line", "temperature", 1.2),
    Channel("discharge_line", "temperature", 8.0, 0.0, 120.0),
    Channel("bend", "temperature", 2.2),
    Channel("compressor", "current", 0.25, 0.05, 60.0),
    Channel("fan", "current", 0.12, 0.06, 10.0),
    Channel("pump", "current", 0.15, 0.05, 30.0),
    Channel("before", "voltage", 2.0, 0.0, 130.0),
    Channel("behind", "voltage", 2.0, 0.0, 130.0),
    Channel("at_controller", "voltage", 2.0, 0.0, 130.0),
    Channel("terminal", "temperature", 5.0, 0.0, 200.0),
    Channel("level", "fraction", 0.05, 0.0, 1.0),
    Channel("strength", "mass_fraction", 0.02, 0.0, 0.6),
    Channel("flow", "volume_flow", 4e-6, 0.1, 4e-4),
    Channel("set_point", "temperature", 0.4, 0.0, 40.0),
    Channel("display", "temperature", 0.7),
    # read by nobody, for the signs that follow from how wet the evaporator is
    Channel("wet", "fraction", 0.05),
)
NAMES = tuple(channel.name for channel in CHANNELS)
INDEX = {name: n for n, name in enumerate(NAMES)}
MOVING = {  # between rest and running, by what moves them: low and high side of the circuit, motors, the bath itself
    "low": ("suction", "suction_line", "wet"),
    "high": ("discharge", "liquid_line", "air_out", "discharge_line", "bend"),
    "compressor": ("compressor",),
    "fan": ("fan",),
    "bath": ("bath_rate",),
}
MOVES = {INDEX[name]: n for n, name in enumerate(chain.from_iterable(MOVING.values()))}  # place among those
SHARED = ("supply", "return")
SHARED_SCATTER = 0.5  # [K] of the one probe that both are read with
