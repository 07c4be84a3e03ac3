"""Refrigeration calculations: saturation, superheat and subcooling, the cost of a dirty condenser."""

from dataclasses import dataclass, field

from service.domain.bench.fields import Calculation, Outcome, described, measured, text
from service.domain.bench.figures import SHARE, figure, figure_if
from service.domain.errors import Fault, Invalid
from service.domain.physics.refrigeration.condenser import condenser_split, split_check
from service.domain.physics.refrigeration.refrigerants import Refrigerant, UnknownRefrigerant, refrigerant
from service.domain.physics.refrigeration.saturation import (
    absolute_pressure,
    bubble_pressure,
    bubble_temperature,
    dew_pressure,
    dew_temperature,
    gauge_pressure,
)
from service.domain.physics.refrigeration.superheat import atmosphere_at, subcooling, superheat
from service.domain.physics.refrigeration.vapour_compression import condensing_penalty
from service.domain.quantities import Quantity

GAUGE = ("pressure", "-14.6 psi", "870 psi")
SATURATED = ("temperature", "-60 degC", "70 degC")  # the whole curve: what a pressure answers can be asked
LINE = ("temperature", "-60 degC", "150 degC")
SPLIT = ("temperature_difference", "0 deltaF", "108 deltaF")
ASKED_REFRIGERANT = text("refrigerant in any usual spelling, such as R-134a")
ASKED_ELEVATION = measured("elevation of the site above sea level", ("length", "-500 m", "5000 m"), default="0 m")
SOURCE = "I. H. Bell et al., Ind. Eng. Chem. Res. 53 (2014) 2498-2508 (CoolProp 8.0.0, equations of state)"
CERTIFIED = (
    "Gauges and refrigerant are for people certified under the local law; wear gloves and eye protection.",
    "Never vent refrigerant, whatever the charge.",
)
FLAMMABLE = "{name} is flammable ({safety_class}): no ignition sources, ventilate, and use tools and parts made for it."


def named(name: str) -> Refrigerant:
    """The refrigerant of a name, or Invalid with the names known."""
    try:
        return refrigerant(name)
    except UnknownRefrigerant as refusal:
        known = ", ".join(refusal.known)
        raise Invalid([Fault("refrigerant", name, f"is not known; known are: {known}")]) from refusal


def flammable_caution(fluid: Refrigerant) -> tuple[str, ...]:
    """The caution for a flammable refrigerant."""
    if not fluid.flammable:
        return ()
    return (FLAMMABLE.format(name=fluid.name, safety_class=fluid.safety_class),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Saturated:
    """A refrigerant at a saturation temperature, or at a gauge pressure."""

    refrigerant: str = field(metadata=ASKED_REFRIGERANT)
    temperature: Quantity | None = field(default=None, metadata=measured("saturated; or give `pressure`", SATURATED))
    pressure: Quantity | None = field(default=None, metadata=measured("gauge pressure; or give `temperature`", GAUGE))
    elevation: Quantity = field(metadata=ASKED_ELEVATION)


@dataclass(frozen=True, slots=True, kw_only=True)
class Saturation:
    """Dew and bubble point; equal for a pure refrigerant."""

    refrigerant: str = field(metadata=described("designation"))
    safety_class: str = field(metadata=described("class by ASHRAE 34"))
    flammable: bool = field(metadata=described("whether that class is flammable"))
    dew_pressure: Quantity | None = field(metadata=described("gauge pressure at the temperature given"))
    bubble_pressure: Quantity | None = field(metadata=described("gauge pressure at the temperature given"))
    dew_temperature: Quantity | None = field(metadata=described("at this pressure: superheat counts from here"))
    bubble_temperature: Quantity | None = field(metadata=described("at this pressure: subcooling counts from here"))
    glide: Quantity | None = field(metadata=described("dew minus bubble temperature"))


def saturate(inputs: Saturated) -> Outcome:
    """Pressures at a temperature or temperatures at a pressure."""
    if (inputs.temperature is None) == (inputs.pressure is None):
        raise Invalid(
            [Fault("temperature", inputs.temperature and inputs.temperature.entered, "give this or pressure")]
        )
    fluid, air = named(inputs.refrigerant), atmosphere_at(inputs.elevation.value)
    dew_p = bubble_p = dew_t = bubble_t = None
    if inputs.temperature is not None:
        at = inputs.temperature.value
        dew_p, bubble_p = (
            gauge_pressure(pressure(fluid, at), atmosphere=air) if pressure(fluid, at) >= 0 else None
            for pressure in (dew_pressure, bubble_pressure)
        )
    if inputs.pressure is not None:
        absolute = absolute_pressure(inputs.pressure.value, atmosphere=air)
        dew_t, bubble_t = dew_temperature(fluid, absolute), bubble_temperature(fluid, absolute)
    return Outcome(
        results=Saturation(
            refrigerant=fluid.name,
            safety_class=fluid.safety_class,
            flammable=fluid.flammable,
            dew_pressure=figure_if(dew_p, "pressure"),
            bubble_pressure=figure_if(bubble_p, "pressure"),
            dew_temperature=figure_if(dew_t, "temperature"),
            bubble_temperature=figure_if(bubble_t, "temperature"),
            glide=None if dew_t is None or bubble_t is None else figure(dew_t - bubble_t, "temperature_difference"),
        ),
        notes=("Pressures are gauge, above the standard atmosphere of the elevation.",),
        cautions=flammable_caution(fluid),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LineReadings:
    """Gauge pressures and the temperatures of the lines beside them; one pair or both."""

    refrigerant: str = field(metadata=ASKED_REFRIGERANT)
    suction_pressure: Quantity | None = field(default=None, metadata=measured("gauge pressure", GAUGE))
    suction_line_temperature: Quantity | None = field(default=None, metadata=measured("at the compressor", LINE))
    liquid_pressure: Quantity | None = field(default=None, metadata=measured("at the condenser's outlet", GAUGE))
    liquid_line_temperature: Quantity | None = field(default=None, metadata=measured("at the same place", LINE))
    elevation: Quantity = field(metadata=ASKED_ELEVATION)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heats:
    """Superheat and subcooling, as far as the pairs were given."""

    evaporating: Quantity | None = field(metadata=described("dew temperature at the suction pressure"))
    superheat: Quantity | None = field(metadata=described("superheat of the suction line"))
    condensing: Quantity | None = field(metadata=described("bubble temperature at the liquid pressure"))
    subcooling: Quantity | None = field(metadata=described("subcooling of the liquid line"))


def heats(inputs: LineReadings) -> Outcome:
    """Superheat and subcooling."""
    suction = _pair(inputs, "suction")
    liquid = _pair(inputs, "liquid")
    if suction is None and liquid is None:
        raise Invalid([Fault("suction_pressure", None, "give suction or liquid pressure with its line temperature")])
    fluid, evaporating, condensing, hot, cold = named(inputs.refrigerant), None, None, None, None
    if suction is not None:
        evaporating = dew_temperature(fluid, suction[0])
        hot = superheat(fluid, suction_pressure=suction[0], line_temperature=suction[1])
    if liquid is not None:
        condensing = bubble_temperature(fluid, liquid[0])
        cold = subcooling(fluid, liquid_pressure=liquid[0], line_temperature=liquid[1])
    negative = any(each is not None and each < 0 for each in (hot, cold))
    doubts = ("A negative figure means the wrong phase in the line, or a reading that is off.",) if negative else ()
    return Outcome(
        results=Heats(
            evaporating=figure_if(evaporating, "temperature"),
            superheat=figure_if(hot, "temperature_difference"),
            condensing=figure_if(condensing, "temperature"),
            subcooling=figure_if(cold, "temperature_difference"),
        ),
        notes=(
            *doubts,
            "Usual are 10 to 20 °F (6 to 11 °C) of superheat and 10 to 15 °F (6 to 8 °C) of subcooling."
            " The maker's figures rule.",
            "A capillary system's superheat follows its charge and load: judge it at the set point only.",
        ),
        cautions=flammable_caution(fluid),
    )


def _pair(inputs: LineReadings, side: str) -> tuple[float, float] | None:
    """Absolute pressure [Pa] and line temperature [K] of a side; Invalid where one is given without the other."""
    names = (f"{side}_pressure", f"{side}_line_temperature")
    pressure, line = (getattr(inputs, name) for name in names)
    if pressure is None and line is None:
        return None
    if pressure is None or line is None:
        raise Invalid([Fault(names[0 if pressure is None else 1], None, f"is required with {names[pressure is None]}")])
    return absolute_pressure(pressure.value, atmosphere=atmosphere_at(inputs.elevation.value)), line.value


@dataclass(frozen=True, slots=True, kw_only=True)
class DirtyCondenser:
    """A condenser's split against its clean split, and the operating state of the unit."""

    refrigerant: str = field(metadata=ASKED_REFRIGERANT)
    air_in: Quantity = field(metadata=measured("air entering the condenser", ("temperature", "-20 degC", "60 degC")))
    clean_split: Quantity = field(
        metadata=measured("this unit's split when clean", ("temperature_difference", "5.4 deltaF", "72 deltaF"))
    )
    split: Quantity | None = field(
        default=None, metadata=measured("condensing above air in, now; or give `condensing` or `head_pressure`", SPLIT)
    )
    condensing: Quantity | None = field(default=None, metadata=measured("condensing temperature now", SATURATED))
    head_pressure: Quantity | None = field(default=None, metadata=measured("gauge pressure now", GAUGE))
    evaporating: Quantity = field(
        metadata=measured("evaporating temperature", ("temperature", "-40 degC", "30 degC"), default="15 degF")
    )
    elevation: Quantity = field(metadata=ASKED_ELEVATION)


@dataclass(frozen=True, slots=True, kw_only=True)
class Penalty:
    """The cost of warmer condensing; changes are against the clean condenser in the same air."""

    split: Quantity = field(metadata=described("split now"))
    clean_split: Quantity = field(metadata=described("this unit's clean split"))
    excess: Quantity = field(metadata=described("split minus clean split"))
    alarm: bool = field(metadata=described("whether the excess is 10 °F or more"))
    condensing_clean: Quantity = field(metadata=described("condensing temperature if it were clean"))
    condensing: Quantity = field(metadata=described("condensing temperature now"))
    capacity_change: Quantity = field(metadata=described("change of the cooling capacity"))
    power_change: Quantity = field(metadata=described("change of the compressor's power"))
    energy_change: Quantity = field(metadata=described("change of the energy for the same cooling"))


def penalty(inputs: DirtyCondenser) -> Outcome:
    """The cost of a high split."""
    fluid, air_in = named(inputs.refrigerant), inputs.air_in.value
    now = _condensing(inputs, fluid)
    checked = split_check(split=condenser_split(condensing=now, air_in=air_in), clean=inputs.clean_split.value)
    clean = air_in + checked.clean
    cost = condensing_penalty(fluid, evaporating=inputs.evaporating.value, clean=clean, now=now)
    return Outcome(
        results=Penalty(
            split=figure(checked.split, "temperature_difference"),
            clean_split=figure(checked.clean, "temperature_difference"),
            excess=figure(checked.excess, "temperature_difference"),
            alarm=checked.alarm,
            condensing_clean=figure(clean, "temperature"),
            condensing=figure(now, "temperature"),
            capacity_change=figure(cost.capacity, SHARE),
            power_change=figure(cost.power, SHARE),
            energy_change=figure(cost.energy_per_cooling, SHARE),
        ),
        notes=(
            "The split grows with the heat rejected: compare it in steady running near the set point.",
            "A high split can also come from the fan, recirculating hot air, overcharge, or air in the circuit.",
        ),
        cautions=flammable_caution(fluid),
    )


def _condensing(inputs: DirtyCondenser, fluid: Refrigerant) -> float:
    """The condensing temperature now [K], by the one of the three that was given."""
    given = [name for name in ("split", "condensing", "head_pressure") if getattr(inputs, name) is not None]
    if len(given) != 1:
        field_at_fault = given[1] if given else "split"
        raise Invalid([Fault(field_at_fault, None, "give one of split, condensing and head_pressure")])
    if inputs.split is not None:
        return inputs.air_in.value + inputs.split.value
    if inputs.condensing is not None:
        return inputs.condensing.value
    pressure = inputs.head_pressure.value if inputs.head_pressure is not None else 0.0
    return bubble_temperature(fluid, absolute_pressure(pressure, atmosphere=atmosphere_at(inputs.elevation.value)))


CALCULATIONS = (
    Calculation(
        name="saturation",
        title="Saturation of a refrigerant",
        what_for="Pressure at a temperature or the reverse, dew and bubble, with the refrigerant's class.",
        inputs=Saturated,
        results=Saturation,
        compute=saturate,
        method="Phase equilibrium by the equation of state; gauge pressure above the standard atmosphere (ISO 2533).",
        source=f"{SOURCE}; classes: ANSI/ASHRAE Standard 34",
        cautions=CERTIFIED,
        example={"refrigerant": "R-134a", "temperature": "100 degF"},
        blames={"saturation pressure": ("pressure",)},
    ),
    Calculation(
        name="superheat-subcooling",
        title="Superheat and subcooling",
        what_for="Superheat of the suction line and subcooling of the liquid line from gauge and thermometer readings.",
        inputs=LineReadings,
        results=Heats,
        compute=heats,
        method="Superheat = line minus dew temperature; subcooling = bubble minus line temperature.",
        source=f"{SOURCE}; usual figures: packaged chiller manual CG-SVX038A, page 39, and a training site",
        cautions=CERTIFIED,
        example={
            "refrigerant": "R-134a",
            "suction_pressure": "18.4 psi",
            "suction_line_temperature": "32 degF",
            "liquid_pressure": "124.2 psi",
            "liquid_line_temperature": "88 degF",
        },
        blames={"saturation pressure": ("suction_pressure", "liquid_pressure")},
    ),
    Calculation(
        name="condenser-penalty",
        title="Cost of a dirty condenser",
        what_for="Split against this unit's clean split, and the loss of capacity and power from warmer condensing.",
        inputs=DirtyCondenser,
        results=Penalty,
        compute=penalty,
        method="Two vapour-compression cycles of one suction state (10 °F superheat and subcooling, efficiency 0.65).",
        source=f"{SOURCE}; alarm at 10 °F above the clean split: common practice, no source",
        cautions=("Unplug or lock out before cleaning: fans start by themselves, fins cut, capacitors stay charged.",),
        example={"refrigerant": "R-134a", "air_in": "80 degF", "clean_split": "25 deltaF", "split": "35 deltaF"},
        blames={
            "saturation pressure": ("head_pressure",),
            "condensing temperature": ("condensing", "air_in"),
            "condenser split": ("condensing", "split"),
        },
    ),
)
