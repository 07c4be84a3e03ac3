"""Load calculation: the unit's load against its capacity today."""

from dataclasses import dataclass, field

from service.domain.bench.fields import Calculation, Outcome, described, measured, text
from service.domain.bench.figures import SHARE, figure, figure_if, figure_of
from service.domain.bench.refrigeration import flammable_caution, named
from service.domain.errors import Fault, Invalid
from service.domain.physics.bath.unit_load import duty, pour_load, pump_heat, unit_load
from service.domain.physics.refrigeration.capacity import Capacity, RatedPoint, capacity_today
from service.domain.quantities import Quantity

HEAT = ("power", "0 W", "100 kW")
AMBIENT = ("temperature", "5 degC", "55 degC")
BATH = ("temperature", "-15 degC", "32 degC")
SPLIT = ("temperature_difference", "5.4 deltaF", "72 deltaF")
FITS, LIMIT = 0.8, 1.2  # the quotient has the errors of both
ADVICE = {
    "fits": "The unit can carry this load.",
    "at_its_limit": "The unit is at its limit: both figures carry errors of this size.",
    "too_much": "The load is above the unit's capacity today: the bath will warm up.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """The parts of the load, and the unit's rating with today's conditions."""

    trunk: Quantity = field(
        metadata=measured("heat gain of all trunks, by the calculation heat-gain", HEAT, default="0 W")
    )
    tower: Quantity = field(metadata=measured("heat gain of the towers", HEAT, default="0 W"))
    poured: Quantity | None = field(
        default=None, metadata=measured("beer poured, mean over the hour", ("volume_flow", "0 L/h", "36000 L/h"))
    )
    cooled_by: Quantity = field(
        metadata=measured(
            "temperature drop of the beer in the trunk",
            ("temperature_difference", "0 deltaF", "72 deltaF"),
            default="2 deltaF",
        )
    )
    pump_power: Quantity = field(metadata=measured("shaft power of the pump", ("power", "0 W", "5 kW"), default="0 W"))
    allowance: Quantity = field(
        metadata=measured(
            "allowance for unknown loads, as a share of the sum", ("fraction", "0 %", "100 %"), default="15 %"
        )
    )
    refrigerant: str | None = field(default=None, metadata=text("refrigerant; required with rated_cooling"))
    rated_cooling: Quantity | None = field(
        default=None, metadata=measured("rated cooling of the unit", ("power", "50 W", "100 kW"))
    )
    rated_ambient: Quantity = field(metadata=measured("ambient temperature of the rating", AMBIENT, default="90 degF"))
    rated_bath: Quantity = field(metadata=measured("bath temperature of the rating", BATH, default="28 degF"))
    clean_split: Quantity = field(metadata=measured("clean condenser split", SPLIT, default="25 deltaF"))
    split: Quantity | None = field(
        default=None, metadata=measured("condenser split now, at the same heat; default: clean_split", SPLIT)
    )
    ambient: Quantity = field(metadata=measured("air entering the condenser today", AMBIENT, default="90 degF"))
    bath: Quantity = field(metadata=measured("bath temperature to hold", BATH, default="28 degF"))


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadResults:
    """The load by part, and the unit's capacity."""

    trunk: Quantity = field(metadata=described("heat gain of the trunks"))
    tower: Quantity = field(metadata=described("heat gain of the towers"))
    pour: Quantity = field(metadata=described("heat taken from the beer"))
    pump: Quantity = field(metadata=described("heat of the pump: all of its shaft power"))
    sum: Quantity = field(metadata=described("sum of the parts"))
    total: Quantity = field(metadata=described("sum with the allowance"))
    capacity: Quantity | None = field(metadata=described("capacity today, at this bath temperature"))
    share_of_rating: Quantity | None = field(metadata=described("capacity today as a share of the rating"))
    evaporating: Quantity | None = field(metadata=described("resulting evaporating temperature"))
    condensing: Quantity | None = field(metadata=described("resulting condensing temperature"))
    compressor_power: Quantity | None = field(metadata=described("power of the compressor, without fans"))
    duty: Quantity | None = field(metadata=described("share of the time that the compressor has to run"))
    verdict: str | None = field(metadata=described("fits, at_its_limit or too_much"))
    advice: str | None = field(metadata=described("the verdict as a sentence"))


def load(inputs: Load) -> Outcome:
    """The load against the capacity."""
    poured = 0.0 if inputs.poured is None else pour_load(flow=inputs.poured.value, drop=inputs.cooled_by.value)
    parts = unit_load(
        trunk=inputs.trunk.value,
        tower=inputs.tower.value,
        pour=poured,
        pump=pump_heat(inputs.pump_power.value),
        allowance=inputs.allowance.value,
    )
    today = _capacity(inputs)
    share = None if today is None else duty(parts.total, capacity=today.capacity)
    verdict = None if share is None else _verdict(share)
    return Outcome(
        results=LoadResults(
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
            "A trunk keeps cold beer cold; it cannot cool warm kegs.",
            "There is no sourced figure for towers: about 400 Btu/h (120 W) is common practice, no source.",
        ),
        cautions=() if inputs.refrigerant is None else flammable_caution(named(inputs.refrigerant)),
    )


def _verdict(share: float) -> str:
    if share < FITS:
        return "fits"
    return "at_its_limit" if share <= LIMIT else "too_much"


def _capacity(inputs: Load) -> Capacity | None:
    if inputs.rated_cooling is None:
        return None
    if inputs.refrigerant is None:
        raise Invalid([Fault("refrigerant", None, "is required with rated_cooling")])
    clean = inputs.clean_split.value
    rated = RatedPoint(
        capacity=inputs.rated_cooling.value,
        ambient=inputs.rated_ambient.value,
        bath=inputs.rated_bath.value,
        clean_split=clean,
    )
    fouling = 1.0 if inputs.split is None else inputs.split.value / clean
    ambient, bath = inputs.ambient.value, inputs.bath.value
    return capacity_today(named(inputs.refrigerant), rated, ambient=ambient, bath=bath, fouling=fouling)


CALCULATION = Calculation(
    name="unit-load",
    title="Load on the unit against its capacity",
    what_for="Trunk, tower, pour and pump heat against what the unit can do at today's ambient and condenser.",
    inputs=Load,
    results=LoadResults,
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
