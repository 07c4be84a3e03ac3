"""How strong the glycol is, however it was told: by mass, by volume, in Brix, or by its freezing point."""

from typing import Protocol

from service.domain.bench.fields import flag, measured, word
from service.domain.errors import Fault, Invalid
from service.domain.physics.glycol.fractions import strength_from_volume
from service.domain.physics.glycol.properties import ROOM, Glycol, strength_at_freezing_point
from service.domain.physics.glycol.protection import ETHYLENE, Concern, concerns
from service.domain.physics.glycol.strength import strength_from_brix
from service.domain.quantities import Quantity

BY_MASS = ("mass_fraction", "0 mass%", "60 mass%")
SPANS = (BY_MASS, ("volume_fraction", "0 vol%", "59 vol%"), ("temperature", "-50 degC", "0 degC"))
SPANS_WITH_BRIX = (*SPANS, ("brix", "-1 Brix", "42 Brix"))
SAMPLE = ("temperature", "10 degC", "30 degC")

ASKED = measured("strength: by mass, by volume, in Brix, or by the freezing point", *SPANS_WITH_BRIX)
ASKED_TARGET = measured("strength wanted: by mass, by volume, or by the freezing point", *SPANS, usual="35 mass%")
ASKED_SAMPLE = measured("of the sample on the refractometer's prism, where the strength is in Brix", SAMPLE)
ASKED_GLYCOL = word("which glycol it is", tuple(Glycol), usual="propylene")
ASKED_ATC = flag("whether the refractometer compensates for temperature (marked ATC)", usual=True)
HOW_READ = "A Brix reading is good to 1 Brix, 1.5 points of strength; the fluid maker's own chart is better."
SOURCE = (
    "Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIF-IIR, 2010, as in CoolProp; "
    "ICUMSA 1974 for the Brix scale"
)
HANDLING = (
    "Wear gloves and eye protection; spilt glycol is slippery, so wipe it up.",
    "Used glycol goes where local rules say, never down a drain by default.",
    "Only inhibited propylene glycol meant for food plant goes near beer, never automotive antifreeze.",
)


def mass_fraction(
    strength: Quantity,
    *,
    sample: Quantity | None = None,
    compensated: bool = True,
    glycol: Glycol = Glycol.PROPYLENE,
) -> float:
    """The strength by mass [kg/kg]; OutOfRange where none gives this reading, Invalid where it cannot be read."""
    if strength.dimension == "mass_fraction":
        return strength.value
    if strength.dimension == "volume_fraction":
        return strength_from_volume(strength.value, glycol)
    if strength.dimension == "temperature":
        return strength_at_freezing_point(strength.value, glycol)
    if glycol is Glycol.ETHYLENE:
        raise Invalid([Fault("strength", strength.entered, "Brix is read for propylene glycol only")])
    if sample is None and not compensated:
        raise Invalid([Fault("sample_temperature", None, "is needed where the instrument does not compensate")])
    at = ROOM if sample is None else sample.value
    return strength_from_brix(reading=strength.value, sample_temperature=at, compensated=compensated)


class Read(Protocol):
    """A question that tells a strength as it was read."""

    @property
    def strength(self) -> Quantity:
        """By mass, by volume, in Brix, or by the freezing point."""

    @property
    def sample_temperature(self) -> Quantity | None:
        """Of the sample."""

    @property
    def compensated(self) -> bool:
        """Whether the instrument compensates."""


def as_asked(asked: Read, glycol: Glycol = Glycol.PROPYLENE) -> float:
    """The strength by mass that a question tells [kg/kg]."""
    sample, compensated = asked.sample_temperature, asked.compensated
    return mass_fraction(asked.strength, sample=sample, compensated=compensated, glycol=glycol)


def said(concern: Concern) -> str:
    """A concern as one sentence with its source."""
    return f"{concern.reason} (Source: {concern.source}.)"


def warnings(strength: float, glycol: Glycol = Glycol.PROPYLENE) -> tuple[str, ...]:
    """What is wrong with glycol of this kind and strength, gravest first."""
    return tuple(said(concern) for concern in concerns(strength, glycol))


def cautions(glycol: Glycol) -> tuple[str, ...]:
    """What the kind of glycol calls for beyond the usual."""
    return (said(ETHYLENE),) if glycol is Glycol.ETHYLENE else ()
