"""Glycol at the bench: putting its strength right, and its properties."""

from dataclasses import dataclass, field

from service.domain.bench.fields import Calculation, Outcome, measured, told
from service.domain.bench.figures import SHARE, figure, figure_if
from service.domain.bench.strengths import (
    ASKED,
    ASKED_ATC,
    ASKED_GLYCOL,
    ASKED_SAMPLE,
    ASKED_TARGET,
    HANDLING,
    HOW_READ,
    SOURCE,
    as_asked,
    cautions,
    mass_fraction,
    warnings,
)
from service.domain.errors import Fault, Invalid
from service.domain.physics.glycol import properties
from service.domain.physics.glycol.fractions import mole_fraction, volume_fraction
from service.domain.physics.glycol.mix import correction, strength_after_pouring
from service.domain.physics.glycol.properties import Glycol, freezing_point
from service.domain.physics.glycol.protection import ETHYLENE, LEAST_MARGIN, freeze_margin, ice_fraction
from service.domain.physics.glycol.strength import brix
from service.domain.physics.ranges import below
from service.domain.quantities import Quantity

VOLUME = ("volume", "1 L", "10 m3")
LIQUID = ("temperature", "-50 degC", "100 degC")
NO_ETHYLENE = f"no mixture of ethylene glycol is reckoned for a beer cooler. {ETHYLENE.reason}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """A bath and loop to be brought to a strength."""

    volume: Quantity = field(metadata=measured("glycol now in bath and loop", VOLUME))
    capacity: Quantity | None = field(
        default=None, metadata=measured("what bath and loop hold at the proper level; as `volume` unless told", VOLUME)
    )
    strength: Quantity = field(metadata=ASKED)
    sample_temperature: Quantity | None = field(default=None, metadata=ASKED_SAMPLE)
    compensated: bool = field(metadata=ASKED_ATC)
    target: Quantity = field(metadata=ASKED_TARGET)
    poured: Quantity = field(
        metadata=measured(
            "strength of what is poured in: 100 mass% is concentrate, 0 mass% water",
            ("mass_fraction", "0 mass%", "100 mass%"),
            ("volume_fraction", "0 vol%", "100 vol%"),
            usual="100 mass%",
        )
    )
    temperature: Quantity = field(metadata=measured("of the bath", LIQUID, usual="32 degF"))
    water_added: Quantity | None = field(
        default=None,
        metadata=measured("water topped up instead, to see what strength that leaves", ("volume", "0 L", "10 m3")),
    )
    glycol: str = field(metadata=ASKED_GLYCOL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixed:
    """What to drain and pour in."""

    strength: Quantity = field(metadata=told("now, by mass"))
    freezing_point: Quantity = field(metadata=told("now"))
    target: Quantity = field(metadata=told("by mass"))
    target_freezing_point: Quantity = field(metadata=told("at the target"))
    drain: Quantity = field(metadata=told("to drain first, as it is"))
    pour_in: Quantity = field(metadata=told("to pour in, measured at 20 °C"))
    volume_then: Quantity = field(metadata=told("in bath and loop afterwards"))
    strength_after_water: Quantity | None = field(metadata=told("by mass, had `water_added` been topped up instead"))


def mix(asked: Mix) -> Outcome:
    """Drain and pour-in for the target strength."""
    if asked.glycol == Glycol.ETHYLENE:
        raise Invalid([Fault("glycol", asked.glycol, NO_ETHYLENE)])
    present, target = as_asked(asked), mass_fraction(asked.target)
    bath = {"volume": asked.volume.value, "temperature": asked.temperature.value, "present": present}
    capacity = asked.volume if asked.capacity is None else asked.capacity
    put_right = correction(**bath, capacity=capacity.value, target=target, poured=mass_fraction(asked.poured))
    watered = None
    if asked.water_added is not None:
        watered = strength_after_pouring(**bath, poured_volume=asked.water_added.value, poured=0.0)
    of_target = tuple(f"At the target: {warning}" for warning in warnings(target))
    return Outcome(
        results=Mixed(
            strength=figure(present, "mass_fraction"),
            freezing_point=figure(freezing_point(present), "temperature"),
            target=figure(target, "mass_fraction"),
            target_freezing_point=figure(freezing_point(target), "temperature"),
            drain=figure(put_right.drain, "volume"),
            pour_in=figure(put_right.pour_in, "volume"),
            volume_then=figure(put_right.volume, "volume"),
            strength_after_water=figure_if(watered, "mass_fraction"),
        ),
        notes=(*warnings(present), *of_target, HOW_READ, "Let it mix for half an hour, then measure again."),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """Glycol of a strength at a temperature."""

    strength: Quantity = field(metadata=ASKED)
    sample_temperature: Quantity | None = field(default=None, metadata=ASKED_SAMPLE)
    compensated: bool = field(metadata=ASKED_ATC)
    temperature: Quantity = field(metadata=measured("at which the properties are wanted", LIQUID, usual="28 degF"))
    coldest_surface: Quantity | None = field(
        default=None, metadata=measured("of the evaporator, for the margin to freezing", LIQUID)
    )
    glycol: str = field(metadata=ASKED_GLYCOL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Properties:
    """Of the liquid; null where it holds ice at this temperature."""

    mass_fraction: Quantity = field(metadata=told("strength by mass"))
    volume_fraction: Quantity = field(metadata=told("by the volumes poured together"))
    mole_fraction: Quantity = field(metadata=told("by number of molecules"))
    brix: Quantity | None = field(metadata=told("what a compensated instrument would show; propylene glycol only"))
    freezing_point: Quantity = field(metadata=told("where the first ice forms"))
    ice_fraction: Quantity = field(metadata=told("share of the mass that is ice at the temperature"))
    density: Quantity | None = field(metadata=told("of the liquid"))
    specific_heat: Quantity | None = field(metadata=told("of the liquid"))
    viscosity: Quantity | None = field(metadata=told("dynamic, of the liquid"))
    conductivity: Quantity | None = field(metadata=told("thermal, of the liquid"))
    freeze_margin: Quantity | None = field(metadata=told("coldest surface above the freezing point"))


def sample_properties(asked: Sample) -> Outcome:
    """Properties of glycol and water."""
    kind, at = Glycol(asked.glycol), asked.temperature.value
    strength = as_asked(asked, kind)
    ice = ice_fraction(mass_fraction=strength, temperature=at, glycol=kind)
    whole = {"mass_fraction": strength, "temperature": at, "glycol": kind}
    margin = None
    if asked.coldest_surface is not None:
        margin = freeze_margin(mass_fraction=strength, coldest_surface=asked.coldest_surface.value, glycol=kind)
    shown = brix(mass_fraction=strength, sample_temperature=293.15) if kind is Glycol.PROPYLENE else None
    liquid = {
        name: None if ice > 0 else figure(getattr(properties, name)(**whole), name)
        for name in ("density", "specific_heat", "viscosity", "conductivity")
    }
    return Outcome(
        results=Properties(
            mass_fraction=figure(strength, "mass_fraction"),
            volume_fraction=figure(volume_fraction(strength, kind), "volume_fraction"),
            mole_fraction=figure(mole_fraction(strength, kind), SHARE),
            brix=figure_if(shown, "brix"),
            freezing_point=figure(freezing_point(strength, kind), "temperature"),
            ice_fraction=figure(ice, SHARE),
            freeze_margin=figure_if(margin, "temperature_difference"),
            **liquid,
        ),
        notes=(*warnings(strength, kind), HOW_READ, *_about(ice, margin)),
        cautions=cautions(kind),
    )


def _about(ice: float, margin: float | None) -> tuple[str, ...]:
    said_of_ice = ("At this temperature it holds ice: the liquid's properties are left out.",) if ice > 0 else ()
    if margin is None or not below(margin, LEAST_MARGIN):
        return said_of_ice
    return (*said_of_ice, "The margin to the coldest surface is under the 5 °F (2.8 °C) to be kept.")


CALCULATIONS = (
    Calculation(
        name="glycol-mix",
        title="Put the glycol's strength right",
        what_for="How much to drain and to pour in for the wanted strength, and what topping up with water does.",
        asks=Mix,
        tells=Mixed,
        compute=mix,
        method="Balance of masses (lever rule) with the densities of the mixtures; draining only for want of room.",
        source=f"Conservation of mass; {SOURCE}",
        cautions=HANDLING,
        blames={"strength of what is poured in": ("poured",), "glycol mass fraction": ("strength", "target")},
        example={"volume": "38 L", "strength": "18 Brix", "target": "35 mass%", "temperature": "40 degF"},
    ),
    Calculation(
        name="glycol-properties",
        title="Properties of glycol and water",
        what_for="Freezing point, margin, density, specific heat, viscosity and conductivity of a strength.",
        asks=Sample,
        tells=Properties,
        compute=sample_properties,
        method="Melinder's polynomials for the properties, the Lorentz-Lorenz rule for Brix, the lever rule for ice.",
        source=SOURCE,
        cautions=HANDLING,
        blames={"glycol mass fraction": ("strength",)},
        example={"strength": "35 mass%", "temperature": "28 degF", "coldest_surface": "15 degF"},
    ),
)
