"""The unit's load at the bench against what it can do today."""

from dataclasses import dataclass, field

from service.domain.bench.fields import Calculation, Outcome, measured, text, told
from service.domain.bench.figures import SHARE, figure, figure_if, figure_of
from service.domain.bench.refrigeration import burning, named
from service.domain.errors import Fault, Invalid
from service.domain.physics.bath.unit_load import duty, pour_load, pump_heat, unit_load
from service.domain.physics.refrigeration.capacity import Capacity, RatedPoint, capacity_today
from service.domain.quantities import Quantity

HEAT = ("power", "0 W", "100 kW")
AMBIENT = ("temperature", "5 degC", "55 degC")
BATH = ("temperature", "-15 degC", "32 degC")
SPLIT = ("temperature_difference", "5.4 deltaF", "72 deltaF")
FITS, LIMIT = 0.8, 1.2  # the quotient carries both errors
ADVICE = {
    "fits": "The unit carries this load.",
    "at_its_limit": "The unit is at its limit: both figures carry errors of this size.",
    "too_much": "The load is more than the unit can do today: the bath will not hold.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """The parts of the load, and the unit's rating with today's conditions."""

    trunk: Quantity = field(metadata=measured("heat gain of all trunks, as heat-gain tells it", HEAT, usual="0 W"))
    tower: Quantity = field(metadata=measured("heat gain of the towers", HEAT, usual="0 W"))
    poured: Quantity | None = field(
        default=None, metadata=measured("beer poured, over the hour", ("volume_flow", "0 L/h", "36000 L/h"))
    )
    cooled_by: Quantity = field(
        metadata=measured(
            "how much the trunk cools the beer", ("temperature_difference", "0 deltaF", "72 deltaF"), usual="2 deltaF"
        )
    )
    pump_power: Quantity = field(metadata=measured("at the pump's shaft", ("power", "0 W", "5 kW"), usual="0 W"))
    allowance: Quantity = field(
        metadata=measured("for what is not known, of the sum", ("fraction", "0 %", "100 %"), usual="15 %")
    )
    refrigerant: str | None = field(default=None, metadata=text("needed beside rated_cooling"))
    rated_cooling: Quantity | None = field(default=None, metadata=measured("of the unit", ("power", "50 W", "100 kW")))
    rated_ambient: Quantity = field(metadata=measured("at which the rating holds", AMBIENT, usual="90 degF"))
    rated_bath: Quantity = field(metadata=measured("at which the rating holds", BATH, usual="28 degF"))
    clean_split: Quantity = field(metadata=measured("of its condenser", SPLIT, usual="25 deltaF"))
    split: Quantity | None = field(
        default=None, metadata=measured("of its condenser now, at the same heat; clean unless told", SPLIT)
    )
    ambient: Quantity = field(metadata=measured("air entering the condenser today", AMBIENT, usual="90 degF"))
    bath: Quantity = field(metadata=measured("temperature to be held", BATH, usual="28 degF"))


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadTold:
    """The load by part, and the unit against it."""

    trunk: Quantity = field(metadata=told("heat gain"))
    tower: Quantity = field(metadata=told("heat gain"))
    pour: Quantity = field(metadata=told("taken from the beer"))
    pump: Quantity = field(metadata=told("all of the shaft's power"))
    sum: Quantity = field(metadata=told("of the parts"))
    total: Quantity = field(metadata=told("with the allowance"))
    capacity: Quantity | None = field(metadata=told("today, at this bath"))
    share_of_rating: Quantity | None = field(metadata=told("that today's capacity is"))
    evaporating: Quantity | None = field(metadata=told("temperature that comes of it"))
    condensing: Quantity | None = field(metadata=told("temperature that comes of it"))
    compressor_power: Quantity | None = field(metadata=told("without fans"))
    duty: Quantity | None = field(metadata=told("share of the time the compressor has to run"))
    verdict: str | None = field(metadata=told("fits, at_its_limit or too_much"))
    advice: str | None = field(metadata=told("the same in a sentence"))


def load(asked: Load) -> Outcome:
    """The load against the capacity."""
    poured = 0.0 if asked.poured is None else pour_load(flow=asked.poured.value, drop=asked.cooled_by.value)
    parts = unit_load(
        trunk=asked.trunk.value,
        tower=asked.tower.value,
        pour=poured,
        pump=pump_heat(asked.pump_power.value),
        allowance=asked.allowance.value,
    )
    today = _capacity(asked)
    share = None if today is None else duty(parts.total, capacity=today.capacity)
    verdict = None if share is None else _verdict(share)
    return Outcome(
        results=LoadTold(
            trunk=figure(parts.trunk, "heat_flow"),
            tower=figure(parts.tower, "heat_flow"),
            pour=figure(parts.pour, "heat_flow"),
            pump=figure(parts.pump, "heat_flow"),
            sum=figure(parts.sum, "heat_flow"),
            total=figure(parts.total, "heat_flow"),
            capacity=figure_of(today, "capacity", "heat_flow"),
            share_of_rating=figure_of(today, "share_of_rated", SHARE),
            evaporating=figure_of(today, "evaporating", "temperature"),
            condensing=figure_of(today, "condensing", "temperature"),
            compressor_power=figure_of(today, "power", "power"),
            duty=figure_if(share, SHARE),
            verdict=verdict,
            advice=verdict and ADVICE[verdict],
        ),
        notes=(
            "A trunk holds a temperature; it cannot cool warm kegs.",
            "For towers no sourced figure was found: some 400 Btu/h (120 W) are common practice, no source.",
        ),
        cautions=() if asked.refrigerant is None else burning(named(asked.refrigerant)),
    )


def _verdict(share: float) -> str:
    if share < FITS:
        return "fits"
    return "at_its_limit" if share <= LIMIT else "too_much"


def _capacity(asked: Load) -> Capacity | None:
    if asked.rated_cooling is None:
        return None
    if asked.refrigerant is None:
        raise Invalid([Fault("refrigerant", None, "is needed beside rated_cooling")])
    clean = asked.clean_split.value
    rated = RatedPoint(
        capacity=asked.rated_cooling.value,
        ambient=asked.rated_ambient.value,
        bath=asked.rated_bath.value,
        clean_split=clean,
    )
    fouling = 1.0 if asked.split is None else asked.split.value / clean
    ambient, bath = asked.ambient.value, asked.bath.value
    return capacity_today(named(asked.refrigerant), rated, ambient=ambient, bath=bath, fouling=fouling)


CALCULATION = Calculation(
    name="unit-load",
    title="Load on the unit against its capacity",
    what_for="Trunk, tower, pour and pump heat against what the unit can do at today's ambient and condenser.",
    asks=Load,
    tells=LoadTold,
    compute=load,
    method="Energy balance; the rating carried to today by the vapour-compression cycle and both heat exchangers.",
    source=(
        "Engineering Manual, Commercial Refrigeration Load Calculations (H-ENGM0408, 2008), table 9 (beer); allowance "
        "of 15 %: a brewery chiller guide; cycle by CoolProp 8.0.0"
    ),
    example={
        "trunk": "1368 Btu/h",
        "tower": "400 Btu/h",
        "poured": "15 gal/h",
        "pump_power": "400 Btu/h",
        "refrigerant": "R-134a",
        "rated_cooling": "2900 Btu/h",
        "ambient": "95 degF",
    },
)
