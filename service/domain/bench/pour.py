"""Pouring temperatures after a standstill, with the glycol running or off."""

from dataclasses import dataclass, field
from math import pi
from typing import Any

from service.domain.bench.fields import Calculation, Outcome, count, described, flag, measured
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
from service.domain.physics.lines.trunk import CONTACT, Bundle, GlycolFlow, Run, line_heat_capacity, tube_conductance
from service.domain.physics.lines.trunk_pour import Glasses, Line, Poured, pour_after_standstill
from service.domain.physics.lines.trunk_profile import Profile, trunk_profile
from service.domain.quantities import Quantity

WALL, WALL_CONDUCTIVITY = 0.0015875, 0.4  # 1/16 in of polyethylene [m, W/(m K)], from memory
WALL_HEAT = 940.0 * 2300.0  # polyethylene [J/(m3 K)], from memory
CONTACT_SPREAD = (0.5, 2.0)  # the contact of tubes is known to a factor of two
TUBE = ("length", "0.125 in", "2 in")


@dataclass(frozen=True, slots=True, kw_only=True)
class Standstill:
    """A trunk, its lines, the standstill, and whether the glycol ran meanwhile."""

    core_diameter: Quantity = field(metadata=ASKED_CORE)
    insulation_thickness: Quantity = field(metadata=ASKED_THICKNESS)
    insulation: str = field(metadata=ASKED_INSULATION)
    runs: tuple[TrunkRun, ...] = field(metadata=ASKED_RUNS)
    beer_lines: int = field(metadata=count("number of beer lines in the bundle", 1, 60, default=4))
    bore: Quantity = field(metadata=measured("inner diameter of the beer line", TUBE, default="0.375 in"))
    keg_temperature: Quantity = field(
        metadata=measured("temperature of the beer in the cooler", BEER, default="37 degF")
    )
    standstill: Quantity = field(metadata=measured("time since the last pour", ("time", "0 s", "100 d")))
    glycol_running: bool = field(metadata=flag("whether the glycol pump runs", default=True))
    glycol_temperature: Quantity = field(
        metadata=measured("glycol temperature at the outlet of the bath", BEER, default="28 degF")
    )
    glycol_flow: Quantity = field(
        metadata=measured("glycol flow in the loop", ("volume_flow", "0.1 L/min", "100 L/min"), default="60 gal/h")
    )
    glycol_bore: Quantity = field(
        metadata=measured("inner diameter of each of the two glycol tubes", TUBE, default="0.375 in")
    )
    strength: Quantity = field(metadata=ASKED_TARGET)
    glasses: int = field(metadata=count("number of glasses to calculate", 1, 60, default=10))
    glass: Quantity = field(metadata=measured("volume of a glass", ("volume", "0.05 L", "2 L"), default="16 floz"))
    pour_rate: Quantity = field(
        metadata=measured("flow at the faucet", ("volume_flow", "0.5 L/min", "20 L/min"), default="0.9375 gal/min")
    )
    warmest_wanted: Quantity = field(
        metadata=measured("highest acceptable temperature in the glass", BEER, default="40 degF")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Pours:
    """The glasses in the order in which they are poured."""

    first: Quantity = field(metadata=described("temperature of the first glass"))
    first_coldest: Quantity = field(metadata=described("the same with twice the contact between the tubes"))
    first_warmest: Quantity = field(metadata=described("the same with half the contact between the tubes"))
    third: Quantity | None = field(metadata=described("temperature of the third glass"))
    tenth: Quantity | None = field(metadata=described("temperature of the tenth glass"))
    glasses: tuple[Quantity, ...] = field(metadata=described("mean temperature of each glass"))
    warm_glasses: int = field(metadata=described("number of glasses up to the last that is too warm"))
    still_warm: bool = field(metadata=described("whether the last glass calculated is too warm"))
    warmest_in_line: Quantity = field(
        metadata=described("highest beer temperature in the line at the end of the standstill")
    )
    heat_gain: Quantity | None = field(metadata=described("heat gain of the trunk with the glycol running"))
    glycol_return: Quantity | None = field(metadata=described("glycol temperature at the return to the bath"))


def pours(inputs: Standstill) -> Outcome:
    """Temperatures of the glasses after the standstill."""
    poured, profile = _poured(inputs, CONTACT, inputs.glasses)
    spread = sorted(_poured(inputs, CONTACT * by, 1)[0].glasses[0] for by in CONTACT_SPREAD)
    temperatures = tuple(figure(each, "temperature") for each in poured.glasses)
    warm = warm_glasses(poured.glasses, inputs.warmest_wanted.value)
    return Outcome(
        results=Pours(
            first=temperatures[0],
            first_coldest=figure(min(spread[0], poured.glasses[0]), "temperature"),
            first_warmest=figure(max(spread[-1], poured.glasses[0]), "temperature"),
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
            "Tubes are assumed to be polyethylene and to touch along 0.3 of their circumference (judged). The first "
            "glass is given for half and twice that as well: it is no more certain.",
            "Faucet and shank are not included: where they are warm, the first glass is about 1 °F warmer.",
        ),
    )


def _poured(inputs: Standstill, contact: float, glasses: int) -> tuple[Poured, Profile | None]:
    """The glasses, and the profile of the running glycol, with tubes that touch along a share of their girth."""
    runs, bundle = runs_of(inputs), _bundle(inputs, contact)
    profile = _profile(inputs, runs, bundle) if inputs.glycol_running else None
    wanted = Glasses(count=glasses, volume=inputs.glass.value, flow=inputs.pour_rate.value)
    poured = pour_after_standstill(
        runs, bundle, _line(inputs, contact), glasses=wanted, standstill=inputs.standstill.value, glycol=profile
    )
    return poured, profile


def _conductance(bore: float, conductivity: float, contact: float) -> float:
    return tube_conductance(
        bore=bore, wall=WALL, wall_conductivity=WALL_CONDUCTIVITY, fluid_conductivity=conductivity, contact=contact
    )


def _glycol_state(inputs: Standstill) -> dict[str, Any]:
    return {"mass_fraction": mass_fraction(inputs.strength), "temperature": inputs.glycol_temperature.value}


def _bundle(inputs: Standstill, contact: float) -> Bundle:
    conductivity = glycol.conductivity(**_glycol_state(inputs))
    return Bundle(
        glycol_conductance=_conductance(inputs.glycol_bore.value, conductivity, contact),
        beer_conductance=inputs.beer_lines * _conductance(inputs.bore.value, BEER_CONDUCTIVITY, contact),
    )


def _profile(inputs: Standstill, runs: list[Run], bundle: Bundle) -> Profile:
    rate = capacity_rate(flow=inputs.glycol_flow.value, **_glycol_state(inputs))
    flow = GlycolFlow(supply=inputs.glycol_temperature.value, capacity_rate=rate)
    return trunk_profile(runs, bundle, glycol=flow, beer=None)


def _wall_heat(bore: float) -> float:
    """Heat capacity of one metre of tube wall [J/(m K)]."""
    return WALL_HEAT * pi * WALL * (bore + WALL)


def _line(inputs: Standstill, contact: float) -> Line:
    bore, tube = inputs.bore.value, inputs.glycol_bore.value
    beer = line_heat_capacity(bore=bore, density=1010.0, specific_heat=3850.0)
    rest = inputs.beer_lines * _wall_heat(bore) + 2.0 * _wall_heat(tube) + (inputs.beer_lines - 1) * beer
    if not inputs.glycol_running:
        state = _glycol_state(inputs)
        held: dict[str, Any] = {"density": glycol.density(**state), "specific_heat": glycol.specific_heat(**state)}
        rest += 2.0 * line_heat_capacity(bore=tube, **held)
    keg = inputs.keg_temperature.value
    conductance = _conductance(bore, BEER_CONDUCTIVITY, contact)
    return Line(bore=bore, conductance=conductance, rest_heat_capacity=rest, keg=keg, start=keg)


CALCULATION = Calculation(
    name="pour-temperature",
    title="Pouring temperature after a standstill",
    what_for="Temperature of the first, third, tenth and every glass, with the glycol running or off.",
    inputs=Standstill,
    results=Pours,
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
