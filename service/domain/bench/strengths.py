"""Glycol strength as an input: by mass, by volume, in Brix, or by the freezing point."""

from typing import Protocol

from service.domain.bench.fields import choice, flag, measured
from service.domain.errors import Fault, Invalid
from service.domain.physics.glycol.properties import ROOM, Glycol
from service.domain.physics.glycol.protection import ETHYLENE, GlycolWarning, glycol_warnings
from service.domain.physics.glycol.strength import strength_by_scale, strength_from_brix
from service.domain.quantities import Quantity

BY_MASS = ("mass_fraction", "0 mass%", "60 mass%")
SPANS = (BY_MASS, ("volume_fraction", "0 vol%", "59 vol%"), ("temperature", "-50 degC", "0 degC"))
SPANS_WITH_BRIX = (*SPANS, ("brix", "-1 Brix", "42 Brix"))
LIQUID_AT_28_DEGF = (
    ("mass_fraction", "8.2 mass%", "60 mass%"),
    ("volume_fraction", "8 vol%", "59 vol%"),
    ("temperature", "-50 degC", "28 degF"),
    ("brix", "6.5 Brix", "42 Brix"),
)
SAMPLE = ("temperature", "10 degC", "30 degC")

ASKED = measured("strength: by mass, by volume, in Brix, or by the freezing point", *SPANS_WITH_BRIX)
ASKED_TARGET = measured("target strength: by mass, by volume, or by the freezing point", *SPANS, default="35 mass%")
ASKED_SAMPLE = measured("temperature of the sample on the refractometer's prism, for a strength in Brix", SAMPLE)
ASKED_GLYCOL = choice("kind of glycol", tuple(Glycol), default="propylene")
ASKED_ATC = flag("whether the refractometer compensates for temperature (marked ATC)", default=True)
HOW_READ = "A Brix reading is accurate to 1 Brix, 1.5 points of strength; the fluid maker's chart is better."
SOURCE = (
    "Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIF-IIR, 2010, as in CoolProp; "
    "ICUMSA 1974 for the Brix scale"
)
HANDLING = (
    "Wear gloves and eye protection. Spilt glycol is slippery: wipe it up.",
    "Dispose of used glycol by the local rules, never down a drain by default.",
    "Use only inhibited food-grade propylene glycol near beer, never automotive antifreeze.",
)


def mass_fraction(
    strength: Quantity,
    *,
    sample: Quantity | None = None,
    compensated: bool = True,
    glycol: Glycol = Glycol.PROPYLENE,
) -> float:
    """The strength by mass [kg/kg]; OutOfRange where none gives this reading, Invalid where it cannot be read."""
    if strength.dimension != "brix":
        return strength_by_scale(strength.value, strength.dimension, glycol=glycol)
    if glycol is Glycol.ETHYLENE:
        raise Invalid([Fault("strength", strength.entered, "Brix is accepted for propylene glycol only")])
    if sample is None and not compensated:
        raise Invalid([Fault("sample_temperature", None, "is required where the instrument does not compensate")])
    at = ROOM if sample is None else sample.value
    return strength_from_brix(reading=strength.value, sample_temperature=at, compensated=compensated)


class Read(Protocol):
    """Inputs with a strength as it was read."""

    @property
    def strength(self) -> Quantity:
        """By mass, by volume, in Brix, or by the freezing point."""

    @property
    def sample_temperature(self) -> Quantity | None:
        """Of the sample."""

    @property
    def compensated(self) -> bool:
        """Whether the instrument compensates."""


def strength_by_mass(inputs: Read, glycol: Glycol = Glycol.PROPYLENE) -> float:
    """The strength by mass of such inputs [kg/kg]."""
    sample, compensated = inputs.sample_temperature, inputs.compensated
    return mass_fraction(inputs.strength, sample=sample, compensated=compensated, glycol=glycol)


def sentence_of(warning: GlycolWarning) -> str:
    """A warning with its source."""
    return f"{warning.reason} (Source: {warning.source}.)"


def warnings(strength: float, glycol: Glycol = Glycol.PROPYLENE) -> tuple[str, ...]:
    """What is wrong with glycol of this kind and strength, most urgent first."""
    return tuple(sentence_of(warning) for warning in glycol_warnings(strength, glycol))


def cautions(glycol: Glycol) -> tuple[str, ...]:
    """Cautions for this kind of glycol beyond the usual ones."""
    return (sentence_of(ETHYLENE),) if glycol is Glycol.ETHYLENE else ()
