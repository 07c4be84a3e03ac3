"""The measurements that can be made next, each with its minutes and its risk.

Risk counts as minutes: looking and probing none, hot or moving parts 2, live parts 15, the refrigerant circuit 40.
Minutes and risks: common practice, no source. Nothing here asks anybody without the qualification to open anything.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from service.domain.physics.bath.pull_down_verdict import Verdict
from service.domain.physics.ranges import OutOfRange
from service.domain.physics.refrigeration.gauges import Gauges, advise_gauges, hose_charge, share_of_charge
from service.domain.record.fleet import Refrigeration, Unit
from service.domain.triage.facts import MOTORS

NO_RISK, HOT = "none", "hot or moving parts"
LIVE, CIRCUIT = "live parts: qualified people only", "refrigerant: licensed people only"
RISK_MINUTES = {NO_RISK: 0.0, HOT: 2.0, LIVE: 15.0, CIRCUIT: 40.0}
HOSE_DENSITY = 15.0  # [kg/m3] of the vapour that a hose on the low side holds
LIQUID_DENSITY = 1100.0  # [kg/m3] of the liquid in one on the high side
Wanted = tuple[str, str | None]  # a quantity, and the kind of component where it is read


@dataclass(frozen=True, slots=True)
class Measurement:
    """One step: what to do, minutes, risk; the figure it gives as weights on channels; the signs that it shows."""

    code: str
    do: str
    minutes: float
    risk: str
    figure: Mapping[str, float] = field(default_factory=dict)
    signs: tuple[str, ...] = ()
    readings: tuple[Wanted, ...] = ()


MEASUREMENTS: tuple[Measurement, ...] = (
    Measurement(
        "ask_taps",
        "Ask which taps are warm: all or one, every glass or the first.",
        1,
        NO_RISK,
        signs=("one_tap_warm", "every_glass_warm", "far_taps_worst"),
    ),
    Measurement(
        "ask_history",
        "Ask about kegs delivered, lines cleaned, a busy bar, a unit just switched on.",
        1,
        NO_RISK,
        signs=("keg_delivered_today", "busy_period", "recently_started"),
    ),
    Measurement(
        "look_display",
        "Look at the display: dark or lit, and whether it calls for cooling.",
        1,
        NO_RISK,
        signs=("display_dark", "calling_for_cooling"),
    ),
    Measurement("look_breaker", "Look at the breaker and at the cord.", 1, NO_RISK, signs=("breaker_tripped",)),
    Measurement(
        "read_set_point",
        "Read the controller's set point.",
        1,
        NO_RISK,
        {"set_point": 1.0},
        readings=(("controller_set_point", None),),
    ),
    Measurement(
        "listen",
        "Listen whether compressor and pump run, and for clicking.",
        1,
        NO_RISK,
        signs=("compressor_running", "compressor_clicking", "pump_running"),
    ),
    Measurement(
        "look_bath",
        "Look into the bath: level, ice, and the stream of the return.",
        2,
        NO_RISK,
        signs=("bath_level_low", "ice_on_coil", "glycol_returning"),
    ),
    Measurement(
        "look_return", "Watch the return for a minute: does it surge or foam?", 1, NO_RISK, signs=("return_surging",)
    ),
    Measurement(
        "look_condenser",
        "Look at the condenser's face and its fan.",
        2,
        NO_RISK,
        signs=("condenser_dirty", "fan_turning", "airflow_obstructed"),
    ),
    Measurement("look_insulation", "Follow the trunk for wet or bare places.", 4, NO_RISK, signs=("insulation_wet",)),
    Measurement(
        "bath_temperature",
        "Measure the bath's temperature.",
        2,
        NO_RISK,
        {"display": 1.0},
        readings=(("bath_temperature", None),),
    ),
    Measurement(
        "display_temperature",
        "Read the temperature that the controller shows.",
        1,
        NO_RISK,
        {"display": 1.0},
        readings=(("controller_temperature", None),),
    ),
    Measurement(
        "bath_again",
        "Measure the bath again after 10 to 15 minutes, taps closed.",
        12,
        NO_RISK,
        {"bath_rate": 1.0},
        readings=(("bath_temperature", None), ("bath_temperature", None)),
    ),
    Measurement(
        "cooler_temperature",
        "Measure the cooler's air.",
        2,
        NO_RISK,
        {"cooler": 1.0},
        readings=(("cooler_temperature", None),),
    ),
    Measurement(
        "keg_temperature",
        "Measure the beer in the keg.",
        3,
        NO_RISK,
        {"keg": 1.0, "cooler": -1.0},
        readings=(("keg_temperature", None), ("cooler_temperature", None)),
    ),
    Measurement(
        "tap_temperatures",
        "Measure the beer at several taps.",
        4,
        NO_RISK,
        {"tap_warm": 1.0, "tap_cold": -1.0},
        readings=(("beer_temperature_at_tap", None),),
    ),
    Measurement(
        "loop_rise",
        "Measure supply and return with one probe.",
        4,
        NO_RISK,
        {"return": 1.0, "supply": -1.0},
        readings=(("glycol_supply_temperature", None), ("glycol_return_temperature", None)),
    ),
    Measurement("bath_level", "Read the bath's level.", 1, NO_RISK, {"level": 1.0}, readings=(("bath_level", None),)),
    Measurement(
        "glycol_strength",
        "Measure the glycol's strength, the sample at room temperature.",
        4,
        NO_RISK,
        {"strength": 1.0},
        readings=(("glycol_strength", None),),
    ),
    Measurement(
        "glycol_flow", "Measure the flow of the return.", 5, NO_RISK, {"flow": 1.0}, readings=(("glycol_flow", None),)
    ),
    Measurement(
        "air_in",
        "Measure the air of the room and that at the condenser's inlet.",
        2,
        NO_RISK,
        signs=("warm_air_at_intake",),
        readings=(("ambient_temperature", None), ("condenser_air_in_temperature", None)),
    ),
    Measurement(
        "air_rise",
        "Measure the air leaving the condenser beside that entering it.",
        3,
        HOT,
        {"air_out": 1.0},
        readings=(("condenser_air_in_temperature", None), ("condenser_air_out_temperature", None)),
    ),
    Measurement(
        "feel_lines",
        "Look and feel for frost on the coil's first turns, back to the compressor, and at the drier.",
        4,
        HOT,
        signs=("frost_on_first_turns_only", "frost_to_compressor", "drier_cold"),
    ),
    Measurement(
        "liquid_line",
        "Measure the liquid line against a bend in the middle of the condenser.",
        5,
        HOT,
        {"bend": 1.0, "liquid_line": -1.0},
        readings=(("condenser_bend_temperature", None), ("liquid_line_temperature", None)),
    ),
    Measurement(
        "condensing",
        "Measure a bend in the middle of the condenser.",
        4,
        HOT,
        {"bend": 1.0},
        readings=(("condenser_bend_temperature", None),),
    ),
    Measurement(
        "suction_line",
        "Measure the suction line at the compressor.",
        4,
        HOT,
        {"suction_line": 1.0},
        readings=(("suction_line_temperature", None),),
    ),
    Measurement(
        "discharge_line",
        "Measure the discharge line.",
        4,
        HOT,
        {"discharge_line": 1.0},
        readings=(("discharge_line_temperature", None),),
    ),
    Measurement(
        "compressor_current",
        "Measure the compressor's current.",
        5,
        LIVE,
        {"compressor": 1.0},
        readings=(("current", "compressor"),),
    ),
    Measurement(
        "fan_current", "Measure the fan's current.", 5, LIVE, {"fan": 1.0}, readings=(("current", "condenser_fan"),)
    ),
    Measurement("pump_current", "Measure the pump's current.", 5, LIVE, {"pump": 1.0}, readings=(("current", "pump"),)),
    Measurement(
        "voltage_before",
        "Measure the voltage before the switch.",
        5,
        LIVE,
        {"before": 1.0},
        readings=(("supply_voltage", None),),
    ),
    Measurement(
        "voltage_behind",
        "Measure the voltage behind the switch.",
        5,
        LIVE,
        {"behind": 1.0},
        readings=(("voltage_behind", "power_switch"),),
    ),
    Measurement(
        "suction_gauge",
        "Read the suction pressure beside the suction line.",
        15,
        CIRCUIT,
        {"suction": -1.0 / 9000.0, "suction_line": 1.0},
        readings=(("suction_pressure", None), ("suction_line_temperature", None)),
    ),
    Measurement(
        "discharge_gauge",
        "Read the discharge pressure beside the liquid line.",
        15,
        CIRCUIT,
        {"discharge": 1.0 / 27000.0, "liquid_line": -1.0},
        readings=(("discharge_pressure", None), ("liquid_line_temperature", None)),
    ),
)
PUMPS = MOTORS["pump"]
GAUGES = frozenset({"suction_gauge", "discharge_gauge"})


def possible(unit: Unit) -> tuple[Measurement, ...]:
    """The measurements that this unit allows: no gauge without a port, or where a hose costs more than it is worth."""
    circuit = unit.refrigeration or Refrigeration()
    return tuple(
        each
        for each in MEASUREMENTS
        if (each.code not in GAUGES or _gauge_is_worth_it(circuit, each.code))
        and (not unit.components or all(kind is None or component_in_place(unit, kind) for _, kind in each.readings))
    )


def component_in_place(unit: Unit, kind: str | None) -> str | None:
    """The code of the component of this kind that is in place; a pump's motor counts as the pump."""
    kinds = PUMPS if kind == "pump" else (kind,)
    return next((part.code for part in unit.components if part.kind in kinds and part.removed_on is None), None)


def _gauge_is_worth_it(circuit: Refrigeration, code: str) -> bool:
    high = code == "discharge_gauge"
    port = circuit.high_side_port if high else circuit.low_side_port
    if port is False or circuit.refrigerant is None:
        return False
    if circuit.charge is None:
        return True
    held = hose_charge(density=LIQUID_DENSITY if high else HOSE_DENSITY)
    try:
        share = share_of_charge(held=held, charge=circuit.charge.value)
        advice = advise_gauges(
            verdict=Verdict.SLOW,
            share=share,
            capillary=circuit.metering == "capillary",
            low_side_only=circuit.high_side_port is False,
        )
    except OutOfRange:
        return False
    return advice is Gauges.CONNECT or (advice is Gauges.LAST_RESORT and circuit.high_side_port is not False)
