"""How beer pours after a standstill, with the glycol running and with it off."""

from dataclasses import dataclass, field
from math import pi
from typing import Any

from service.domain.bench.fields import Calculation, Outcome, count, flag, measured, told
from service.domain.bench.figures import figure, figure_of
from service.domain.bench.strengths import ASKED_TARGET, mass_fraction
from service.domain.bench.trunks import (
    ASKED_CORE,
    ASKED_INSULATION,
    ASKED_RUNS,
    ASKED_THICKNESS,
    BEER,
    ROUGHLY,
    TrunkRun,
    runs_of,
)
from service.domain.bench.trunks import SOURCE as TRUNK_SOURCE
from service.domain.physics.glycol import properties as glycol
from service.domain.physics.lines.beer import BEER_CONDUCTIVITY
from service.domain.physics.lines.loop_heat import capacity_rate
from service.domain.physics.lines.purge import warm_glasses
from service.domain.physics.lines.trunk import Bundle, GlycolFlow, Run, line_heat_capacity, tube_conductance
from service.domain.physics.lines.trunk_pour import Glasses, Line, pour_after_standstill
from service.domain.physics.lines.trunk_profile import Profile, trunk_profile
from service.domain.quantities import Quantity

WALL, WALL_CONDUCTIVITY = 0.0015875, 0.4  # 1/16 in of polyethylene [m, W/(m K)], from memory
WALL_HEAT = 940.0 * 2300.0  # polyethylene [J/(m3 K)], from memory
TUBE = ("length", "0.125 in", "2 in")


@dataclass(frozen=True, slots=True, kw_only=True)
class Standstill:
    """A trunk, its lines, how long they stood and whether the glycol ran meanwhile."""

    core_diameter: Quantity = field(metadata=ASKED_CORE)
    insulation_thickness: Quantity = field(metadata=ASKED_THICKNESS)
    insulation: str = field(metadata=ASKED_INSULATION)
    runs: tuple[TrunkRun, ...] = field(metadata=ASKED_RUNS)
    beer_lines: int = field(metadata=count("in the bundle", 1, 60, usual=4))
    bore: Quantity = field(metadata=measured("of the beer line", TUBE, usual="0.375 in"))
    keg_temperature: Quantity = field(metadata=measured("of the beer in the cooler", BEER, usual="37 degF"))
    standstill: Quantity = field(metadata=measured("since the last pour", ("time", "0 s", "100 d")))
    glycol_running: bool = field(metadata=flag("whether the glycol pump runs", usual=True))
    glycol_temperature: Quantity = field(metadata=measured("as it leaves the bath", BEER, usual="28 degF"))
    glycol_flow: Quantity = field(
        metadata=measured("in the loop", ("volume_flow", "0.1 L/min", "100 L/min"), usual="60 gal/h")
    )
    glycol_bore: Quantity = field(metadata=measured("of each of the two glycol tubes", TUBE, usual="0.375 in"))
    strength: Quantity = field(metadata=ASKED_TARGET)
    glasses: int = field(metadata=count("to look at", 1, 60, usual=10))
    glass: Quantity = field(metadata=measured("what one holds", ("volume", "0.05 L", "2 L"), usual="16 floz"))
    pour_rate: Quantity = field(
        metadata=measured("at the faucet", ("volume_flow", "0.5 L/min", "20 L/min"), usual="0.9375 gal/min")
    )
    warmest_wanted: Quantity = field(metadata=measured("beer in the glass", BEER, usual="40 degF"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Pours:
    """The glasses in the order poured."""

    first: Quantity = field(metadata=told("glass"))
    third: Quantity | None = field(metadata=told("glass"))
    tenth: Quantity | None = field(metadata=told("glass"))
    glasses: tuple[Quantity, ...] = field(metadata=told("mean temperature of each, in the order poured"))
    warm_glasses: int = field(metadata=told("up to the last one that is warmer than wanted"))
    still_warm: bool = field(metadata=told("whether the last one looked at is warmer than wanted"))
    warmest_in_line: Quantity = field(metadata=told("at the end of the standstill"))
    heat_gain: Quantity | None = field(metadata=told("of the trunk with the glycol running"))
    glycol_return: Quantity | None = field(metadata=told("as the glycol comes back to the bath"))


def pours(asked: Standstill) -> Outcome:
    """Temperatures of the glasses after the standstill."""
    runs, bundle, profile = runs_of(asked), _bundle(asked), None
    if asked.glycol_running:
        profile = _profile(asked, runs, bundle)
    glasses = Glasses(count=asked.glasses, volume=asked.glass.value, flow=asked.pour_rate.value)
    poured = pour_after_standstill(
        runs, bundle, _line(asked), glasses=glasses, standstill=asked.standstill.value, glycol=profile
    )
    temperatures = tuple(figure(each, "temperature") for each in poured.glasses)
    warm = warm_glasses(poured.glasses, asked.warmest_wanted.value)
    return Outcome(
        results=Pours(
            first=temperatures[0],
            third=temperatures[2] if len(temperatures) > 2 else None,
            tenth=temperatures[9] if len(temperatures) > 9 else None,
            glasses=temperatures,
            warm_glasses=warm,
            still_warm=warm == len(temperatures),
            warmest_in_line=figure(max(poured.standing), "temperature"),
            heat_gain=figure_of(profile, "heat", "heat_flow"),
            glycol_return=None if profile is None else figure(profile.back[0], "temperature"),
        ),
        notes=(
            ROUGHLY,
            "How well the tubes touch each other is judged (0.3 of their girth); tubes are taken as polyethylene.",
            "Faucet and shank are not in it: where they stand warm the first glass is about a degree warmer.",
        ),
    )


def _conductance(bore: float, conductivity: float) -> float:
    return tube_conductance(bore=bore, wall=WALL, wall_conductivity=WALL_CONDUCTIVITY, fluid_conductivity=conductivity)


def _glycol_state(asked: Standstill) -> dict[str, Any]:
    return {"mass_fraction": mass_fraction(asked.strength), "temperature": asked.glycol_temperature.value}


def _bundle(asked: Standstill) -> Bundle:
    conductivity = glycol.conductivity(**_glycol_state(asked))
    return Bundle(
        glycol_conductance=_conductance(asked.glycol_bore.value, conductivity),
        beer_conductance=asked.beer_lines * _conductance(asked.bore.value, BEER_CONDUCTIVITY),
    )


def _profile(asked: Standstill, runs: list[Run], bundle: Bundle) -> Profile:
    rate = capacity_rate(flow=asked.glycol_flow.value, **_glycol_state(asked))
    flow = GlycolFlow(supply=asked.glycol_temperature.value, capacity_rate=rate)
    return trunk_profile(runs, bundle, glycol=flow, beer=None)


def _wall_heat(bore: float) -> float:
    """Heat capacity of one metre of tube wall [J/(m K)]."""
    return WALL_HEAT * pi * WALL * (bore + WALL)


def _line(asked: Standstill) -> Line:
    bore, tube = asked.bore.value, asked.glycol_bore.value
    beer = line_heat_capacity(bore=bore, density=1010.0, specific_heat=3850.0)
    rest = asked.beer_lines * _wall_heat(bore) + 2.0 * _wall_heat(tube) + (asked.beer_lines - 1) * beer
    if not asked.glycol_running:
        state = _glycol_state(asked)
        held: dict[str, Any] = {"density": glycol.density(**state), "specific_heat": glycol.specific_heat(**state)}
        rest += 2.0 * line_heat_capacity(bore=tube, **held)
    keg = asked.keg_temperature.value
    conductance = _conductance(bore, BEER_CONDUCTIVITY)
    return Line(bore=bore, conductance=conductance, rest_heat_capacity=rest, keg=keg, start=keg)


CALCULATION = Calculation(
    name="pour-temperature",
    title="How the glasses pour after a standstill",
    what_for="Temperature of the first, third, tenth and every glass, with the glycol running or off.",
    asks=Standstill,
    tells=Pours,
    compute=pours,
    method="One-dimensional heat balances of beer, bundle and glycol by matrix exponential; plug flow of the beer.",
    source=f"{TRUNK_SOURCE}, section 5.1 for the balances; contact between tubes: common practice, no source",
    example={
        "runs": [{"place": "ground", "length": "100 ft", "temperature": "60 degF"}],
        "keg_temperature": "35 degF",
        "standstill": "12 h",
        "glycol_running": False,
    },
)
