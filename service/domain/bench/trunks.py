"""Trunks at the bench: the insulated bundle and its runs through air and ground."""

from dataclasses import dataclass, field
from typing import Protocol

from service.domain.bench.fields import choice, count, measured, text
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
    "Insulation is assumed to be dry and undamaged: wet, crushed or open insulation lets in far more heat. "
    "Soil is seldom known better than 30 %."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrunkRun:
    """A stretch of trunk in one kind of surroundings, from the cooler towards the taps."""

    name: str | None = field(default=None, metadata=text("name of the run"))
    place: str = field(metadata=choice("surroundings of the run", PLACES, default="air"))
    length: Quantity = field(metadata=measured("length of the run", ("length", "0 m", "500 m")))
    temperature: Quantity = field(
        metadata=measured("temperature of the air or of the undisturbed ground", SURROUNDINGS)
    )
    depth: Quantity = field(
        metadata=measured("depth of its centre, in the ground", ("length", "0.01 m", "200 m"), default="2 ft")
    )
    soil: str = field(metadata=choice("soil, in the ground", tuple(SOILS), default="moist_sand"))
    conduit: Quantity | None = field(
        default=None, metadata=measured("inner diameter of its conduit", ("length", "0.01 m", "3 m"))
    )


ASKED_CORE = measured("diameter of all tubes together, under the insulation", ("length", "1 mm", "2 m"), default="2 in")
ASKED_THICKNESS = measured("thickness of the insulation", ("length", "0 mm", "0.5 m"), default="1 in")
ASKED_INSULATION = choice("material of the insulation", tuple(INSULATIONS), default="elastomeric_foam")
ASKED_RUNS = count("runs from the cooler to the taps", 1, 50)


class Bundled(Protocol):
    """Inputs that describe a trunk."""

    @property
    def core_diameter(self) -> Quantity:
        """Diameter of all tubes together."""

    @property
    def insulation_thickness(self) -> Quantity:
        """Thickness of the insulation."""

    @property
    def insulation(self) -> str:
        """Its material."""

    @property
    def runs(self) -> tuple[TrunkRun, ...]:
        """From the cooler to the taps."""


def jacket_of(inputs: Bundled) -> Jacket:
    """The core and its insulation."""
    return Jacket(inputs.core_diameter.value, inputs.insulation_thickness.value, INSULATIONS[inputs.insulation])


def run_of(run: TrunkRun, jacket: Jacket) -> Run:
    """One run with its resistance to the surroundings."""
    if run.place == "air":
        return Run(run.length.value, run.temperature.value, air_resistance(jacket))
    conduit = None if run.conduit is None else run.conduit.value
    buried = buried_resistance(jacket, Burial(run.depth.value, SOILS[run.soil], conduit))
    return Run(run.length.value, run.temperature.value, buried)


def runs_of(inputs: Bundled) -> list[Run]:
    """The trunk's runs."""
    jacket = jacket_of(inputs)
    return [run_of(run, jacket) for run in inputs.runs]
