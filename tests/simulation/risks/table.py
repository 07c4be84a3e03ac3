"""The table of events: rates, exposures with their relative risks, and what is read with and without each."""

from dataclasses import dataclass, field
from typing import NamedTuple

# failures a unit-year; two kinds more than a unit has electrical parts
RATES = {
    "power_switch": 0.16, "pump": 0.14, "temperature_controller": 0.09, "condenser_fan": 0.11, "compressor": 0.04,
    "start_relay": 0.06, "agitator": 0.05,
}  # fmt: skip
SHAPE = 3.0  # of the gamma factor of the units: CV 0.58
CODES = {
    "power_switch": "switch-1", "pump": "pump-1", "temperature_controller": "controller-1", "condenser_fan": "fan-1",
    "compressor": "compressor-1", "start_relay": "relay-1", "agitator": "agitator-1",
}  # fmt: skip


class Normal(NamedTuple):
    """A quantity's mean and standard deviation, and the unit it is written in."""

    mean: float
    spread: float
    unit: str


Readings = dict[tuple[str, str | None], Normal]
USUAL: Readings = {
    ("current", "switch-1"): Normal(12.6, 0.7, "A"),
    ("terminal_temperature", "switch-1"): Normal(41.0, 4.0, "degC"),
    ("contact_voltage_drop", "switch-1"): Normal(0.04, 0.012, "V"),
    ("supply_voltage", None): Normal(116.5, 1.8, "V"),
    ("glycol_strength", None): Normal(35.0, 1.6, "mass%"),
    ("bath_level", None): Normal(91.0, 4.0, "%"),
    ("ambient_temperature", None): Normal(25.0, 3.5, "degC"),
}
SHARE_READ = {"terminal_temperature": 0.4, "contact_voltage_drop": 0.35, "ambient_temperature": 0.6}  # others 0.8
GRADES = {"condenser_clean": (0.5, 0.35, 0.12, 0.03), "strainer_clean": (0.6, 0.3, 0.08, 0.02)}
LOOKS = {  # how a failed part looks without an exposure
    "power_switch": {"worn": 0.35, "open_circuit": 0.25, "burnt": 0.25, "stuck": 0.15},
    "pump": {"worn": 0.35, "leaking": 0.25, "seized": 0.25, "noisy": 0.15},
    "temperature_controller": {"broken": 0.4, "stuck": 0.35, "burnt": 0.25},
    "condenser_fan": {"noisy": 0.4, "seized": 0.35, "burnt": 0.25},
    "compressor": {"seized": 0.4, "burnt": 0.35, "noisy": 0.25},
    "start_relay": {"stuck": 0.5, "burnt": 0.3, "open_circuit": 0.2},
    "agitator": {"noisy": 0.4, "seized": 0.4, "broken": 0.2},
}


@dataclass(frozen=True, slots=True)
class Exposure:
    """`share` of units that meet it, for `years` from and to; relative risks by kind; what it changes in the record."""

    cause: str
    share: float
    risks: dict[str, float]
    reads: Readings = field(default_factory=dict)
    grades: dict[str, tuple[float, float, float, float]] = field(default_factory=dict)
    looks: dict[str, dict[str, float]] = field(default_factory=dict)
    cleaned: float = 0.92
    rating: float = 20.0
    years: tuple[float, float] = (1.2, 3.0)


WEAK, STRONG = Normal(19.0, 2.0, "mass%"), Normal(54.0, 2.0, "mass%")
BURNT = {"burnt": 0.7, "discoloured": 0.2, "stuck": 0.1}
EXPOSURES = (
    Exposure(
        "condenser_fouled",
        0.055,
        {"power_switch": 7.0, "compressor": 7.0, "condenser_fan": 5.0, "temperature_controller": 4.0},
        {("current", "switch-1"): Normal(15.4, 0.8, "A")},
        {"condenser_clean": (0.0, 0.1, 0.5, 0.4)},
        {"power_switch": BURNT, "compressor": BURNT},
        cleaned=0.1,
    ),
    Exposure(
        "switch_undersized",
        0.025,
        {"power_switch": 9.0},
        looks={"power_switch": BURNT},
        rating=14.0,
        years=(3.0, 3.0),
    ),
    Exposure(
        "low_voltage",
        0.025,
        {"compressor": 9.0, "temperature_controller": 7.0, "start_relay": 7.0, "power_switch": 4.0, "pump": 3.0},
        {("supply_voltage", None): Normal(99.0, 1.8, "V"), ("current", "switch-1"): Normal(13.8, 0.8, "A")},
        looks={"compressor": BURNT, "temperature_controller": {"burnt": 0.5, "stuck": 0.5}},
    ),
    Exposure(
        "loose_terminal",
        0.02,
        {"power_switch": 9.0},
        {
            ("terminal_temperature", "switch-1"): Normal(88.0, 9.0, "degC"),
            ("contact_voltage_drop", "switch-1"): Normal(0.55, 0.15, "V"),
        },
        looks={"power_switch": BURNT},
    ),
    Exposure(
        "ambient_hot",
        0.02,
        {"power_switch": 4.0, "compressor": 5.0, "condenser_fan": 6.0, "temperature_controller": 5.0},
        {("ambient_temperature", None): Normal(45.0, 3.0, "degC"), ("current", "switch-1"): Normal(14.2, 0.8, "A")},
        looks={"condenser_fan": {"burnt": 0.5, "seized": 0.5}},
    ),
    Exposure("glycol_weak", 0.025, {"pump": 9.0, "agitator": 5.0}, {("glycol_strength", None): WEAK}),
    Exposure("glycol_strong", 0.02, {"pump": 8.0, "agitator": 6.0}, {("glycol_strength", None): STRONG}),
    Exposure("bath_low", 0.02, {"pump": 9.0}, {("bath_level", None): Normal(48.0, 7.0, "%")}),
    Exposure("strainer_blocked", 0.02, {"pump": 9.0}, grades={"strainer_clean": (0.0, 0.05, 0.45, 0.5)}),
    Exposure("unexplained", 0.02, {}),
)
UNSEEN_RISK = 8.0  # of one kind, drawn, by the exposure of which nothing can be read
