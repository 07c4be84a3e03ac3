"""Trunks at the bench: the insulated bundle and its runs through air and ground, as asked for and as physics."""

from dataclasses import dataclass, field
from typing import Protocol

from service.domain.bench.fields import count, measured, text, word
from service.domain.physics.lines.buried import Burial, buried_resistance
from service.domain.physics.lines.heat_gain import FOAM_CONDUCTIVITY, Jacket, air_resistance
from service.domain.physics.lines.trunk import Run
from service.domain.quantities import Quantity

INSULATIONS = {"elastomeric_foam": FOAM_CONDUCTIVITY, "polystyrene_foam": 0.0288}  # W/(m K)
SOILS = {
    "clay": 1.2,
    "dry_sand": 1.4,
    "moist_sand": 1.9,
    "wet_sand": 2.55,
}  # W/(m K), mid-band
PLACES = ("air", "ground")
SURROUNDINGS = ("temperature", "-40 degC", "80 degC")
BEER = ("temperature", "-40 degC", "60 degC")
SOURCE = (
    "National Institute of Building Sciences, Mechanical Insulation Design Guide, Design Data; F. P. Incropera et al., "
    "Fundamentals of Heat and Mass Transfer, 6th ed., Table 4.1, case 2 (buried cylinder); soil: Farouki, CRREL 82-8"
)
ROUGHLY = (
    "Insulation is taken as dry and whole: wet, crushed or open insulation lets in far more. "
    "Soil is seldom known better than 30 %."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrunkRun:
    """A stretch of trunk in one kind of surroundings, from the cooler towards the taps."""

    name: str | None = field(default=None, metadata=text("what it is called"))
    place: str = field(metadata=word("what surrounds it", PLACES, usual="air"))
    length: Quantity = field(metadata=measured("of the run", ("length", "0 m", "500 m")))
    temperature: Quantity = field(metadata=measured("of the air, or of the undisturbed ground", SURROUNDINGS))
    depth: Quantity = field(
        metadata=measured("of its centre, in the ground", ("length", "0.01 m", "200 m"), usual="2 ft")
    )
    soil: str = field(metadata=word("in the ground", tuple(SOILS), usual="moist_sand"))
    conduit: Quantity | None = field(
        default=None, metadata=measured("inner diameter of the conduit it lies in", ("length", "0.01 m", "3 m"))
    )


ASKED_CORE = measured("across all tubes together, under the insulation", ("length", "1 mm", "2 m"), usual="2 in")
ASKED_THICKNESS = measured("of the insulation", ("length", "0 mm", "0.5 m"), usual="1 in")
ASKED_INSULATION = word("what the insulation is made of", tuple(INSULATIONS), usual="elastomeric_foam")
ASKED_RUNS = count("from the cooler to the taps", 1, 50)


class Bundled(Protocol):
    """A question that describes a trunk."""

    @property
    def core_diameter(self) -> Quantity:
        """Across all tubes together."""

    @property
    def insulation_thickness(self) -> Quantity:
        """Of the insulation."""

    @property
    def insulation(self) -> str:
        """What it is made of."""

    @property
    def runs(self) -> tuple[TrunkRun, ...]:
        """From the cooler to the taps."""


def jacket_of(asked: Bundled) -> Jacket:
    """The core and its insulation."""
    return Jacket(asked.core_diameter.value, asked.insulation_thickness.value, INSULATIONS[asked.insulation])


def run_of(run: TrunkRun, jacket: Jacket) -> Run:
    """One run with its resistance to the surroundings."""
    if run.place == "air":
        return Run(run.length.value, run.temperature.value, air_resistance(jacket))
    conduit = None if run.conduit is None else run.conduit.value
    buried = buried_resistance(jacket, Burial(run.depth.value, SOILS[run.soil], conduit))
    return Run(run.length.value, run.temperature.value, buried)


def runs_of(asked: Bundled) -> list[Run]:
    """The trunk's runs."""
    jacket = jacket_of(asked)
    return [run_of(run, jacket) for run in asked.runs]
