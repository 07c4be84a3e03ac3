"""The glycol loop at the bench: pressure and flow, what heat the flow carries, how strong glycol starves it."""

from dataclasses import dataclass, field
from math import pi
from typing import Any

from service.domain.bench.fields import Calculation, Outcome, measured, told
from service.domain.bench.figures import SHARE, figure, figure_if, figure_of
from service.domain.bench.strengths import (
    ASKED,
    ASKED_ATC,
    ASKED_SAMPLE,
    HANDLING,
    HOW_READ,
    SPANS,
    as_asked,
    mass_fraction,
    warnings,
)
from service.domain.errors import Fault, Invalid
from service.domain.physics.glycol import properties as glycol
from service.domain.physics.lines.loop_flow import Loop, flow_at_pressure, flow_of_displacement_pump, loop_pressure_drop
from service.domain.physics.lines.loop_heat import Starvation, capacity_rate, starvation, temperature_rise
from service.domain.quantities import Quantity

PRESSURE = ("pressure", "0.1 psi", "290 psi")
FLOW = ("volume_flow", "0.01 L/min", "6000 L/min")
DRIVES = (("flow",), ("pump_pressure",), ("displacement", "relief_pressure"))


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopAsked:
    """A loop, what is in it, and what drives it: a flow, a pressure, or a displacement pump with its relief."""

    bore: Quantity = field(metadata=measured("of the tube", ("length", "1 mm", "0.5 m")))
    length: Quantity = field(metadata=measured("there and back", ("length", "0.1 m", "3000 m")))
    fittings: Quantity = field(
        metadata=measured("added for fittings, of the tube's drop", ("fraction", "0 %", "500 %"), usual="20 %")
    )
    strength: Quantity = field(metadata=ASKED)
    sample_temperature: Quantity | None = field(default=None, metadata=ASKED_SAMPLE)
    compensated: bool = field(metadata=ASKED_ATC)
    temperature: Quantity = field(
        metadata=measured("of the glycol", ("temperature", "-50 degC", "100 degC"), usual="28 degF")
    )
    flow: Quantity | None = field(default=None, metadata=measured("known flow", FLOW))
    pump_pressure: Quantity | None = field(default=None, metadata=measured("difference that the pump holds", PRESSURE))
    displacement: Quantity | None = field(default=None, metadata=measured("of a displacement pump", FLOW))
    relief_pressure: Quantity | None = field(default=None, metadata=measured("of its relief valve", PRESSURE))
    target: Quantity | None = field(
        default=None, metadata=measured("strength to compare with, at the same pressure", *SPANS)
    )
    heat: Quantity | None = field(default=None, metadata=measured("that the loop takes up", ("power", "0 W", "100 kW")))


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopTold:
    """Flow, pressure and heat of the loop."""

    strength: Quantity = field(metadata=told("by mass"))
    flow: Quantity = field(metadata=told("in the loop"))
    pressure_drop: Quantity = field(metadata=told("of the loop at this flow"))
    reynolds: float = field(metadata=told("Reynolds number: laminar below 2100, turbulent above 4000"))
    capacity_rate: Quantity = field(metadata=told("heat carried for each degree of rise"))
    rise: Quantity | None = field(metadata=told("of temperature along the loop, by `heat`"))
    target_flow: Quantity | None = field(metadata=told("at the target strength and the same pressure"))
    flow_share: Quantity | None = field(metadata=told("of the target's flow"))
    heat_share: Quantity | None = field(metadata=told("of the target's heat for each degree"))


def flows(asked: LoopAsked) -> Outcome:
    """Flow and pressure of a loop."""
    loop = Loop(bore=asked.bore.value, length=asked.length.value, fittings=asked.fittings.value)
    strength = as_asked(asked)
    state: dict[str, Any] = {"mass_fraction": strength, "temperature": asked.temperature.value}
    flow = _flow(asked, loop, state)
    drop = loop_pressure_drop(loop, flow=flow, **state)
    speed = 4.0 * flow / (pi * loop.bore**2)
    starved = _starved(asked, loop, drop, state)
    rise = None if asked.heat is None else temperature_rise(heat=asked.heat.value, flow=flow, **state)
    return Outcome(
        results=LoopTold(
            strength=figure(strength, "mass_fraction"),
            flow=figure(flow, "volume_flow"),
            pressure_drop=figure(drop, "pressure"),
            reynolds=float(f"{glycol.density(**state) * speed * loop.bore / glycol.viscosity(**state):.4g}"),
            capacity_rate=figure(capacity_rate(flow=flow, **state), "capacity_rate"),
            rise=figure_if(rise, "temperature_difference"),
            target_flow=figure_of(starved, "target_flow", "volume_flow"),
            flow_share=figure_of(starved, "flow_share", SHARE),
            heat_share=figure_of(starved, "heat_share", SHARE),
        ),
        notes=(
            *warnings(strength),
            HOW_READ,
            "The two published viscosities differ by 13 %, and so do laminar pressures; shares are better than that.",
        ),
    )


def _flow(asked: LoopAsked, loop: Loop, state: dict[str, Any]) -> float:
    """The flow [m3/s] by whichever drive was given."""
    given = {name for drive in DRIVES for name in drive if getattr(asked, name) is not None}
    if given not in [set(drive) for drive in DRIVES]:
        raise Invalid([Fault("flow", None, "give flow, or pump_pressure, or displacement with relief_pressure")])
    if asked.flow is not None:
        return asked.flow.value
    if asked.pump_pressure is not None:
        return flow_at_pressure(loop, pressure=asked.pump_pressure.value, **state)
    displaced, relief = (getattr(asked, name).value for name in DRIVES[2])
    return flow_of_displacement_pump(loop, displacement=displaced, relief_pressure=relief, **state)


def _starved(asked: LoopAsked, loop: Loop, drop: float, state: dict[str, Any]) -> Starvation | None:
    if asked.target is None:
        return None
    return starvation(loop, pressure=drop, target=mass_fraction(asked.target), **state)


CALCULATION = Calculation(
    name="loop-flow",
    title="Flow and pressure of the glycol loop",
    what_for="Pressure a flow needs, flow a pump gives, heat it carries, and what over-strong glycol takes away.",
    asks=LoopAsked,
    tells=LoopTold,
    compute=flows,
    method="Darcy-Weisbach with Churchill's friction factor, continuous from laminar to turbulent; solved by Brent.",
    source=(
        "S. W. Churchill, Chemical Engineering 84 (1977), 91, as in the library fluids; Crane Technical Paper 410; "
        "A. Melinder, IIF-IIR, 2010, for the glycol"
    ),
    cautions=(HANDLING[0], "Shut the pump off and let the pressure out before opening the loop."),
    example={
        "bore": "0.375 in",
        "length": "200 ft",
        "strength": "55 mass%",
        "target": "35 mass%",
        "pump_pressure": "24 psi",
        "heat": "1000 Btu/h",
    },
)
