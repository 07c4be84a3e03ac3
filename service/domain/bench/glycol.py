"""Glycol calculations: correcting the strength, and properties."""

from dataclasses import dataclass, field

from service.domain.bench.fields import Calculation, Outcome, choice, described, measured
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
    cautions,
    mass_fraction,
    strength_by_mass,
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
NO_ETHYLENE = f"ethylene glycol mixtures are not calculated for beer coolers. {ETHYLENE.reason}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """A bath and loop whose strength is to be corrected."""

    volume: Quantity = field(metadata=measured("glycol now in bath and loop", VOLUME))
    capacity: Quantity | None = field(
        default=None, metadata=measured("volume of bath and loop at the proper level; default: `volume`", VOLUME)
    )
    strength: Quantity = field(metadata=ASKED)
    sample_temperature: Quantity | None = field(default=None, metadata=ASKED_SAMPLE)
    compensated: bool = field(metadata=ASKED_ATC)
    target: Quantity = field(metadata=ASKED_TARGET)
    poured: Quantity = field(
        metadata=measured(
            "strength of the fluid poured in: 100 mass% is concentrate, 0 mass% is water",
            ("mass_fraction", "0 mass%", "100 mass%"),
            ("volume_fraction", "0 vol%", "100 vol%"),
            default="100 mass%",
        )
    )
    temperature: Quantity = field(metadata=measured("bath temperature", LIQUID, default="32 degF"))
    water_added: Quantity | None = field(
        default=None,
        metadata=measured("water topped up instead, to see the strength that it leaves", ("volume", "0 L", "10 m3")),
    )
    glycol: str = field(
        metadata=choice("kind of glycol", (Glycol.PROPYLENE,), default="propylene", refused=(Glycol.ETHYLENE,))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixed:
    """How much to drain and pour in."""

    strength: Quantity = field(metadata=described("present strength, by mass"))
    freezing_point: Quantity = field(metadata=described("present freezing point"))
    target: Quantity = field(metadata=described("target strength, by mass"))
    target_freezing_point: Quantity = field(metadata=described("freezing point at the target"))
    drain: Quantity = field(metadata=described("volume to drain first"))
    pour_in: Quantity = field(metadata=described("volume to pour in, measured at 20 °C"))
    volume_then: Quantity = field(metadata=described("volume in bath and loop afterwards"))
    strength_after_water: Quantity | None = field(
        metadata=described("strength by mass after topping up `water_added` instead")
    )


def mix(inputs: Mix) -> Outcome:
    """Drain and pour-in for the target strength."""
    if inputs.glycol == Glycol.ETHYLENE:
        raise Invalid([Fault("glycol", inputs.glycol, NO_ETHYLENE)])
    present, target = strength_by_mass(inputs), mass_fraction(inputs.target)
    bath = {"volume": inputs.volume.value, "temperature": inputs.temperature.value, "present": present}
    capacity = inputs.volume if inputs.capacity is None else inputs.capacity
    fix = correction(**bath, capacity=capacity.value, target=target, poured=mass_fraction(inputs.poured))
    with_water = None
    if inputs.water_added is not None:
        with_water = strength_after_pouring(**bath, poured_volume=inputs.water_added.value, poured=0.0)
    of_target = tuple(f"At the target: {warning}" for warning in warnings(target))
    return Outcome(
        results=Mixed(
            strength=figure(present, "mass_fraction"),
            freezing_point=figure(freezing_point(present), "temperature"),
            target=figure(target, "mass_fraction"),
            target_freezing_point=figure(freezing_point(target), "temperature"),
            drain=figure(fix.drain, "volume"),
            pour_in=figure(fix.pour_in, "volume"),
            volume_then=figure(fix.volume, "volume"),
            strength_after_water=figure_if(with_water, "mass_fraction"),
        ),
        notes=(*warnings(present), *of_target, HOW_READ, "Let it mix for 30 minutes, then measure again."),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """Glycol of a strength at a temperature."""

    strength: Quantity = field(metadata=ASKED)
    sample_temperature: Quantity | None = field(default=None, metadata=ASKED_SAMPLE)
    compensated: bool = field(metadata=ASKED_ATC)
    temperature: Quantity = field(metadata=measured("temperature for the properties", LIQUID, default="28 degF"))
    coldest_surface: Quantity | None = field(
        default=None, metadata=measured("coldest evaporator surface, for the freeze margin", LIQUID)
    )
    glycol: str = field(metadata=ASKED_GLYCOL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Properties:
    """Properties of the liquid; null where there is ice at this temperature."""

    mass_fraction: Quantity = field(metadata=described("strength by mass"))
    volume_fraction: Quantity = field(metadata=described("strength by the volumes before mixing"))
    mole_fraction: Quantity = field(metadata=described("strength by amount of substance"))
    brix: Quantity | None = field(metadata=described("reading of a compensated refractometer; propylene glycol only"))
    freezing_point: Quantity = field(metadata=described("temperature at which ice starts to form"))
    ice_fraction: Quantity = field(metadata=described("share of the mass that is ice at this temperature"))
    density: Quantity | None = field(metadata=described("density of the liquid"))
    specific_heat: Quantity | None = field(metadata=described("specific heat of the liquid"))
    viscosity: Quantity | None = field(metadata=described("dynamic viscosity of the liquid"))
    conductivity: Quantity | None = field(metadata=described("thermal conductivity of the liquid"))
    freeze_margin: Quantity | None = field(metadata=described("coldest surface minus freezing point"))


def sample_properties(inputs: Sample) -> Outcome:
    """Properties of glycol and water."""
    kind, at = Glycol(inputs.glycol), inputs.temperature.value
    strength = strength_by_mass(inputs, kind)
    ice = ice_fraction(mass_fraction=strength, temperature=at, glycol=kind)
    whole = {"mass_fraction": strength, "temperature": at, "glycol": kind}
    margin = None
    if inputs.coldest_surface is not None:
        margin = freeze_margin(mass_fraction=strength, coldest_surface=inputs.coldest_surface.value, glycol=kind)
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
    with_ice = ("There is ice at this temperature: the liquid's properties are left out.",) if ice > 0 else ()
    if margin is None or not below(margin, LEAST_MARGIN):
        return with_ice
    return (*with_ice, "The freeze margin is below the required 5 °F (2.8 °C).")


CALCULATIONS = (
    Calculation(
        name="glycol-mix",
        title="Correct the glycol's strength",
        what_for="How much to drain and pour in for a target strength, and the effect of topping up with water.",
        inputs=Mix,
        results=Mixed,
        compute=mix,
        method="Mass balance (lever rule) with the densities of the mixtures; draining only where there is no room.",
        source=f"Conservation of mass; {SOURCE}",
        cautions=HANDLING,
        blames={"strength of the fluid poured in": ("poured",), "glycol mass fraction": ("strength", "target")},
        example={"volume": "38 L", "strength": "18 Brix", "target": "35 mass%", "temperature": "40 degF"},
    ),
    Calculation(
        name="glycol-properties",
        title="Properties of glycol and water",
        what_for="Freezing point, margin, density, specific heat, viscosity and conductivity of a strength.",
        inputs=Sample,
        results=Properties,
        compute=sample_properties,
        method="Melinder's polynomials for the properties, the Lorentz-Lorenz rule for Brix, the lever rule for ice.",
        source=SOURCE,
        cautions=HANDLING,
        blames={"glycol mass fraction": ("strength",)},
        example={"strength": "35 mass%", "temperature": "28 degF", "coldest_surface": "15 degF"},
    ),
)
