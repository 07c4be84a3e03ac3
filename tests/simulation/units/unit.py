"""A glycol unit as built, and the record that states what was designed, from which the machine differs a little."""

from dataclasses import dataclass, replace
from math import log, pi
from random import Random
from typing import Any

from tests.simulation.units import text
from tests.simulation.units.cycle import Around, Circuit, solve
from tests.simulation.units.machine import Design, build

WATTS_PER_BTU_H = 0.29307107
FOAM = 0.036  # W/mK, elastomeric foam, from memory
SURFACE = 9.4  # W/m2K, still indoor air, from memory
# horsepower: rating in Btu/h at a bath of 28 degF and air of 90 degF, litres of bath, g of charge
# (common practice, no source)
SIZES = {
    "0.33": (2100, 22, 280),
    "0.5": (3100, 30, 400),
    "0.75": (4700, 40, 560),
    "1": (6300, 48, 750),
    "1.5": (9000, 68, 1000),
}
PLACES = {"cellar": (55, 82), "bar": (65, 88), "kitchen": (70, 104), "roof": (20, 110)}  # degF over a year


@dataclass(frozen=True, slots=True)
class Trunk:
    """One loop to its taps: conductance to each surrounding in kW/K, with that surrounding."""

    code: str
    core: float  # inches
    foam: float
    taps: tuple[str, ...]
    runs: tuple[tuple[str, float, float], ...]  # surroundings, ft, degF recorded
    conductances: tuple[float, ...]
    units_of_transfer: float  # of the beer against the glycol

    @property
    def feet(self) -> float:
        """Its length."""
        return sum(feet for _, feet, _ in self.runs)


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit as it stands; temperatures in degC, powers in kW, currents in A."""

    tag: str
    circuit: Circuit
    design: Design
    place: str
    elevation: float  # ft
    elevation_known: bool  # to the record
    volts: float
    magnetising: float  # magnetising current of the compressor, A
    compressor_rating: float
    fan_power: float
    fan_rating: float
    pump_power: float
    pump_rating: float
    flow: float  # L/h with glycol of 35 %
    positive_displacement: bool
    litres: float
    strength: float
    set_point: float
    differential: float
    lowest_condensing: float
    fan_cycles: bool  # to hold the head pressure up; else its speed is lowered
    trunks: tuple[Trunk, ...]
    records: dict[str, Any]

    @property
    def air_density(self) -> float:
        """Of the air at its elevation, over that at sea level (ICAO standard atmosphere)."""
        return (1.0 - 6.8756e-6 * self.elevation) ** 4.2559

    @property
    def air_pressure(self) -> float:
        """kPa (ICAO standard atmosphere)."""
        return 101.325 * (1.0 - 6.8756e-6 * self.elevation) ** 5.2559


def draw_unit(rng: Random, tag: str) -> Unit:
    """A unit with its place, trunk and nameplate."""
    size = rng.choices(list(SIZES), (2, 3, 3, 2, 1))[0]
    place = rng.choices(list(PLACES), (3, 3, 3, 4))[0]
    rating, litres, charge = SIZES[size]
    rating *= rng.uniform(0.92, 1.08)
    design = _design(rng, rating * WATTS_PER_BTU_H / 1e3, charge)
    circuit = build(design)
    outdoors = place == "roof"
    held_up = outdoors and rng.random() < 0.7
    trunks = _trunks(rng, rating)
    large = size in ("1", "1.5")
    volts = 230.0 if large and rng.random() < 0.6 else 115.0
    pump_power = min(rng.uniform(0.12, 0.3), 0.25 * rating * WATTS_PER_BTU_H / 1e3)
    fan_power = rng.uniform(0.03, 0.1) * (1 + large)
    unit = Unit(
        tag=tag,
        circuit=circuit,
        design=design,
        place=place,
        elevation=rng.choice((0.0, 0.0, rng.uniform(0, 2500), rng.uniform(2500, 7000))),
        elevation_known=rng.random() < 0.8,
        volts=volts,
        magnetising=0.0,
        compressor_rating=0.0,
        fan_power=fan_power,
        fan_rating=round(1.25 * fan_power * 1e3 / volts / 0.65 + 0.05, 1),
        pump_power=pump_power,
        pump_rating=round(1.2 * pump_power * 1e3 / volts / 0.6 + 0.05, 1),
        flow=rng.uniform(50, 100) * 3.785 * len(trunks),
        positive_displacement=rng.random() < 0.6,
        litres=litres * rng.uniform(0.8, 1.2),
        strength=rng.choice((33.0, 35.0, 35.0, 38.0)),
        set_point=text.celsius(rng.choice((28.0, 28.0, 29.0, 30.0))),
        differential=rng.choice((2.0, 3.0, 4.0, 4.0)) / 1.8,
        fan_cycles=held_up and rng.random() < 0.5,
        lowest_condensing=rng.uniform(21.0, 32.0) if held_up else -40.0,
        trunks=trunks,
        records={},
    )
    return _recorded(rng, _rated(rng, unit), rating)


def _design(rng: Random, cooling: float, charge: float) -> Design:
    fluid = rng.choices(("R-134a", "R-404A", "R-290"), (5, 4, 2))[0]
    return Design(
        fluid,
        rng.choices(("capillary", "expansion_valve"), (7, 3))[0],
        cooling=cooling * rng.uniform(0.95, 1.06),
        charge=charge / 1e3 * (0.45 if fluid == "R-290" else 1.0) * rng.uniform(0.85, 1.15),
        evaporator_difference=rng.uniform(5.5, 8.5),
        split=rng.uniform(8.5, 15.5),
        superheat=rng.uniform(3.5, 5.3),
        subcooling=rng.uniform(3.0, 7.0),
        effectiveness=rng.uniform(0.5, 0.72),
        efficiency=rng.uniform(0.45, 0.58),
        clearance=rng.uniform(0.025, 0.045),
        shell_loss=rng.uniform(0.1, 0.25),
        wet=rng.uniform(0.8, 0.9),
        filled=rng.uniform(0.05, 0.11),
        in_evaporator=rng.uniform(0.2, 0.4),
    )


def _rated(rng: Random, unit: Unit) -> Unit:
    """Nameplate current of the compressor: what it draws on a hot day with a warm bath, and little more."""
    worst = solve(unit.circuit, Around(bath=21.0, air=41.0)).power
    current = 1e3 * worst / unit.volts
    magnetising = rng.uniform(0.55, 0.85) * 1e3 * unit.design.cooling / 2.2 / unit.volts
    rating = (current**2 + magnetising**2) ** 0.5 / rng.uniform(0.82, 0.97)
    return replace(unit, magnetising=magnetising, compressor_rating=round(rating, 1))


def _trunks(rng: Random, rating: float) -> tuple[Trunk, ...]:
    count = 2 if rating > 4000 and rng.random() < 0.5 else 1
    budget = rating * rng.uniform(0.15, 0.4) / count  # Btu/h of the standing load
    made = []
    for n in range(count):
        core, foam = rng.choice((1.5, 2.0, 2.5)), rng.choice((0.75, 1.0))
        around, degrees = rng.choice((("indoor", 74.0), ("attic", 90.0), ("underground", 60.0), ("indoor", 70.0)))
        gain = per_foot(core, foam) * (degrees - 30.0) / 1.8 / WATTS_PER_BTU_H  # Btu/h of a foot
        feet = round(min(max(budget / gain, 25.0), 300.0))
        runs = (("cooler", 10.0, 37.0), (around, float(feet), degrees))
        spoiled = rng.uniform(1.0, 1.4)  # seams and bends
        conductances = tuple(spoiled * per_foot(core, foam) * length / 1e3 for _, length, _ in runs)
        taps = tuple(str(10 * n + k + 1) for k in range(rng.randint(2, 5)))
        made.append(Trunk(f"bar-{n + 1}", core, foam, taps, runs, conductances, min(max(feet / 70.0, 0.6), 2.5)))
    return tuple(made)


def per_foot(core: float, foam: float) -> float:
    """Heat gain of a foot of trunk, W/K; core and foam in inches."""
    inner, outer = core * 0.0254, (core + 2 * foam) * 0.0254
    return 0.3048 / (log(outer / inner) / (2 * pi * FOAM) + 1.0 / (SURFACE * pi * outer))


def _recorded(rng: Random, unit: Unit, rating: float) -> Unit:
    return replace(unit, records=text.unit_record(rng, unit, rating))
