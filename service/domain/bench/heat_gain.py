"""Heat gain calculations: heat leaking into a trunk, and whether its surface sweats."""

from dataclasses import dataclass, field

from service.domain.bench.fields import Calculation, Outcome, described, measured
from service.domain.bench.figures import figure, figure_if
from service.domain.bench.trunks import (
    ASKED_CORE,
    ASKED_INSULATION,
    ASKED_RUNS,
    ASKED_THICKNESS,
    BEER,
    ROUGHLY,
    SOURCE,
    TrunkRun,
    jacket_of,
    run_of,
)
from service.domain.physics.lines.dew_point import AIR, dew_point, dry_thickness, surface_temperature
from service.domain.physics.lines.heat_gain import Jacket, heat_gain
from service.domain.quantities import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Trunk:
    """A trunk, its core temperature and the humidity of the air."""

    core_diameter: Quantity = field(metadata=ASKED_CORE)
    insulation_thickness: Quantity = field(metadata=ASKED_THICKNESS)
    insulation: str = field(metadata=ASKED_INSULATION)
    runs: tuple[TrunkRun, ...] = field(metadata=ASKED_RUNS)
    temperature: Quantity = field(metadata=measured("temperature of the bundle's core", BEER, default="30 degF"))
    humidity: Quantity | None = field(
        default=None, metadata=measured("relative humidity of the air around the runs", ("fraction", "1 %", "100 %"))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RunGain:
    """Heat gain of one run; sweating is null for a run in the ground or without a humidity."""

    name: str | None = field(metadata=described("name of the run"))
    heat_per_length: Quantity = field(metadata=described("heat gain per length; negative where heat is lost"))
    heat: Quantity = field(metadata=described("heat gain of the whole run"))
    surface_temperature: Quantity | None = field(metadata=described("temperature of the outer surface, in air"))
    dew_point: Quantity | None = field(metadata=described("dew point of the air"))
    sweats: bool | None = field(metadata=described("whether the surface is below the dew point"))
    dry_thickness: Quantity | None = field(metadata=described("least insulation thickness that stays dry"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """Heat gain of the trunk."""

    runs: tuple[RunGain, ...] = field(metadata=described("each run"))
    heat: Quantity = field(metadata=described("heat gain of the trunk"))


def gain(inputs: Trunk) -> Outcome:
    """Heat gain of each run and of the trunk."""
    jacket, core = jacket_of(inputs), inputs.temperature.value
    humidity = None if inputs.humidity is None else inputs.humidity.value
    runs = tuple(_gain_of(run, jacket, core, humidity) for run in inputs.runs)
    sweating = ("Condensing water adds heat where it sweats; that heat is not included.",)
    return Outcome(
        results=Gain(runs=runs, heat=figure(sum(run.heat.value for run in runs), "heat_flow")),
        notes=(ROUGHLY, *(sweating if any(run.sweats for run in runs) else ())),
    )


def _gain_of(inputs: TrunkRun, jacket: Jacket, core: float, humidity: float | None) -> RunGain:
    run = run_of(inputs, jacket)
    per_metre = heat_gain(resistance=run.resistance, surroundings=run.surroundings, core=core)
    surface, dew, thickness = _sweating(inputs, jacket, core, humidity)
    return RunGain(
        name=inputs.name,
        heat_per_length=figure(per_metre, "heat_per_length"),
        heat=figure(per_metre * run.length, "heat_flow"),
        surface_temperature=figure_if(surface, "temperature"),
        dew_point=figure_if(dew, "temperature"),
        sweats=None if dew is None or surface is None else surface < dew,
        dry_thickness=figure_if(thickness, "thickness"),
    )


def _sweating(
    inputs: TrunkRun, jacket: Jacket, core: float, humidity: float | None
) -> tuple[float | None, float | None, float | None]:
    """Surface temperature [K], dew point [K] and the thickness that stays dry [m], as far as they are known."""
    air = inputs.temperature.value
    if inputs.place != "air" or not AIR.low <= air <= AIR.high:
        return None, None, None
    surface = surface_temperature(jacket, air=air, core=core)
    if humidity is None:
        return surface, None, None
    dew = dew_point(air=air, relative_humidity=humidity)
    thickest = Jacket(jacket.core_diameter, 0.5, jacket.conductivity)
    if dew > surface_temperature(thickest, air=air, core=core):
        return surface, dew, None
    enough = dry_thickness(jacket.core_diameter, air=air, core=core, dew=dew, conductivity=jacket.conductivity)
    return surface, dew, enough


CALCULATION = Calculation(
    name="heat-gain",
    title="Heat gain of a trunk",
    what_for="Heat leaking into the bundle in air and in the ground, for each run, and whether the surface sweats.",
    inputs=Trunk,
    results=Gain,
    compute=gain,
    method="Radial conduction in series with the film or the buried cylinder's shape factor; Magnus' dew point.",
    source=f"{SOURCE}; O. A. Alduchov and R. E. Eskridge, J. Appl. Meteorology 35 (1996) 601-609",
    cautions=("Attics, roofs and crawl spaces: beware of falls, heat and live parts.",),
    example={
        "core_diameter": "2 in",
        "insulation_thickness": "1 in",
        "runs": [
            {"name": "ceiling", "place": "air", "length": "60 ft", "temperature": "75 degF"},
            {"name": "under the yard", "place": "ground", "length": "60 ft", "temperature": "60 degF"},
        ],
        "temperature": "30 degF",
        "humidity": "50 %",
    },
)
