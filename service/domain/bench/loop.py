"""Glycol loop calculations: pressure and flow, heat carried, and the effect of too strong glycol."""

from dataclasses import dataclass, field
from math import pi
from typing import Any

from service.domain.bench.fields import Calculation, Outcome, described, measured
from service.domain.bench.figures import SHARE, figure, figure_if, figure_of
from service.domain.bench.strengths import (
    ASKED,
    ASKED_ATC,
    ASKED_SAMPLE,
    HANDLING,
    HOW_READ,
    SPANS,
    mass_fraction,
    strength_by_mass,
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
class LoopInputs:
    """A loop, its glycol, and its drive: a flow, a pressure, or a displacement pump with its relief valve."""

    bore: Quantity = field(metadata=measured("inner diameter of the tube", ("length", "1 mm", "0.5 m")))
    length: Quantity = field(metadata=measured("length of supply and return together", ("length", "0.1 m", "3000 m")))
    fittings: Quantity = field(
        metadata=measured(
            "addition for fittings, as a share of the tube's pressure drop",
            ("fraction", "0 %", "500 %"),
            default="20 %",
        )
    )
    strength: Quantity = field(metadata=ASKED)
    sample_temperature: Quantity | None = field(default=None, metadata=ASKED_SAMPLE)
    compensated: bool = field(metadata=ASKED_ATC)
    temperature: Quantity = field(
        metadata=measured("glycol temperature", ("temperature", "-50 degC", "100 degC"), default="28 degF")
    )
    flow: Quantity | None = field(default=None, metadata=measured("known flow", FLOW))
    pump_pressure: Quantity | None = field(default=None, metadata=measured("pressure difference of the pump", PRESSURE))
    displacement: Quantity | None = field(default=None, metadata=measured("displacement of the pump", FLOW))
    relief_pressure: Quantity | None = field(default=None, metadata=measured("pressure of its relief valve", PRESSURE))
    target: Quantity | None = field(
        default=None, metadata=measured("strength to compare with, at the same pressure", *SPANS)
    )
    heat: Quantity | None = field(default=None, metadata=measured("heat gain of the loop", ("power", "0 W", "100 kW")))


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopResults:
    """Flow, pressure and heat of the loop."""

    strength: Quantity = field(metadata=described("strength by mass"))
    flow: Quantity = field(metadata=described("flow in the loop"))
    pressure_drop: Quantity = field(metadata=described("pressure drop of the loop at this flow"))
    reynolds: float = field(metadata=described("Reynolds number: laminar below 2100, turbulent above 4000"))
    capacity_rate: Quantity = field(metadata=described("heat carried for each degree of temperature rise"))
    rise: Quantity | None = field(metadata=described("temperature rise along the loop from `heat`"))
    target_flow: Quantity | None = field(metadata=described("flow at the target strength and the same pressure"))
    flow_share: Quantity | None = field(metadata=described("flow as a share of target_flow"))
    heat_share: Quantity | None = field(
        metadata=described("heat for each degree as a share of that at the target strength")
    )


def flows(inputs: LoopInputs) -> Outcome:
    """Flow and pressure of a loop."""
    loop = Loop(bore=inputs.bore.value, length=inputs.length.value, fittings=inputs.fittings.value)
    strength = strength_by_mass(inputs)
    state: dict[str, Any] = {"mass_fraction": strength, "temperature": inputs.temperature.value}
    flow = _flow(inputs, loop, state)
    drop = loop_pressure_drop(loop, flow=flow, **state)
    speed = 4.0 * flow / (pi * loop.bore**2)
    starved = _starved(inputs, loop, drop, state)
    rise = None if inputs.heat is None else temperature_rise(heat=inputs.heat.value, flow=flow, **state)
    return Outcome(
        results=LoopResults(
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
            "The two published viscosities differ by 13 %, and so do laminar pressures; shares are more accurate.",
        ),
    )


def _flow(inputs: LoopInputs, loop: Loop, state: dict[str, Any]) -> float:
    """The flow [m3/s] by the drive that was given."""
    given = {name for drive in DRIVES for name in drive if getattr(inputs, name) is not None}
    if given not in [set(drive) for drive in DRIVES]:
        raise Invalid([Fault("flow", None, "give flow, or pump_pressure, or displacement with relief_pressure")])
    if inputs.flow is not None:
        return inputs.flow.value
    if inputs.pump_pressure is not None:
        return flow_at_pressure(loop, pressure=inputs.pump_pressure.value, **state)
    displaced, relief = (getattr(inputs, name).value for name in DRIVES[2])
    return flow_of_displacement_pump(loop, displacement=displaced, relief_pressure=relief, **state)


def _starved(inputs: LoopInputs, loop: Loop, drop: float, state: dict[str, Any]) -> Starvation | None:
    if inputs.target is None:
        return None
    return starvation(loop, pressure=drop, target=mass_fraction(inputs.target), **state)


CALCULATION = Calculation(
    name="loop-flow",
    title="Flow and pressure of the glycol loop",
    what_for="Pressure for a flow, flow of a pump, heat carried, and the loss from too strong glycol.",
    inputs=LoopInputs,
    results=LoopResults,
    compute=flows,
    method="Darcy-Weisbach with Churchill's friction factor, continuous from laminar to turbulent; solved by Brent.",
    source=(
        "S. W. Churchill, Chemical Engineering 84 (1977), 91, as in the library fluids; Crane Technical Paper 410; "
        "A. Melinder, IIF-IIR, 2010, for the glycol"
    ),
    cautions=(HANDLING[0], "Switch the pump off and release the pressure before opening the loop."),
    example={
        "bore": "0.375 in",
        "length": "200 ft",
        "strength": "55 mass%",
        "target": "35 mass%",
        "pump_pressure": "24 psi",
        "heat": "1000 Btu/h",
    },
)
