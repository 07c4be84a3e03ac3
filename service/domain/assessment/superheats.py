"""Superheat and subcooling of a running unit, against what its bath, its air and its metering device let expect."""

from collections.abc import Iterator

from service.domain.assessment.air import air_entering, air_reading
from service.domain.assessment.apart import HIGH_SIDE, LOW_SIDE
from service.domain.assessment.clean_split import meant_in_celsius
from service.domain.assessment.evidence import Evidence, a_reading
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.head_control import COLD_AIR, may_be_held, without_fan
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.refrigerant_of import (
    DISCHARGE,
    REFRIGERANT,
    SUCTION,
    atmosphere,
    condensing,
    condensing_uncertainty,
    evaporating_uncertainty,
    suction_can_be_read,
    the_refrigerant,
)
from service.domain.assessment.refrigeration import CARE, COOLING, SATURATION
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.uncertainty import ON_A_PIPE, surely_over, surely_under, together
from service.domain.physics.ranges import below
from service.domain.physics.refrigeration.saturation import absolute_pressure
from service.domain.physics.refrigeration.superheat import USUAL_SUBCOOLING, USUAL_SUPERHEAT, subcooling, superheat

# A capillary unit's superheat by its surroundings, from a steady cycle with a fixed orifice (CoolProp 8): 11 °F with a
# bath at 29 and air at 85 °F, 33 with air at 45, none at 105, 46 with a bath at 70. Signs and sizes, good to 12 °F.
AT_DESIGN, PER_AIR, PER_BATH = 11.0 / 1.8, -0.55, 0.85
DESIGN_AIR, DESIGN_BATH = 302.6, 271.5  # K, 85 and 29 °F
CAPILLARY_SPREAD, VALVE_SPREAD = 12.0 / 1.8, 8.0 / 1.8  # K either side
FLOODED = 1.0  # K: less is liquid in the line; least error of a clamped probe; judged
SHORT_OF_CHARGE, OVERFULL = 3.0 / 1.8, 17.0 / 1.8  # K of subcooling
LIQUID_OVER_VAPOUR = 10.0 / 1.8  # K of subcooling over superheat: sound -2 °F, short of air 6, 20 % too much 9, 50 % 20
# (steady capillary model of another make)
NEXT_TO_NONE = 3.0 / 1.8  # K: with little doubt less than a sound evaporator has; judged, no source
ONCE_MORE = (
    "Read pressures and lines again with the bath at its set point; at rest, compare the pressure with that of the "
    "bath's temperature. Do not add refrigerant."
)
OVERCHARGED = (
    "Do not add refrigerant. Rule out gas that does not condense: at rest, compare the pressure with that of the "
    "bath's temperature. Then recover the charge and weigh in what the nameplate says."
)
SMALL = 8.0 / 1.8  # K of superheat: an overfilled evaporator has no more
HOT_AIR = 305.4  # K, 90 °F: above it a sound capillary unit may have no superheat and little subcooling


def found_superheat(e: Evidence) -> Uncertain:
    """The superheat of the suction line [K]."""
    found = superheat(
        the_refrigerant(e),
        suction_pressure=absolute_pressure(e.value("suction_pressure"), atmosphere=atmosphere(e)),
        line_temperature=e.value("suction_line_temperature"),
    )
    return Uncertain(found, "temperature_difference", together(evaporating_uncertainty(e), ON_A_PIPE))


def found_subcooling(e: Evidence) -> Uncertain:
    """The subcooling of the liquid line [K]."""
    found = subcooling(
        the_refrigerant(e),
        liquid_pressure=absolute_pressure(e.value("discharge_pressure"), atmosphere=atmosphere(e)),
        line_temperature=e.value("liquid_line_temperature"),
    )
    return Uncertain(found, "temperature_difference", together(condensing_uncertainty(e), ON_A_PIPE))


def expected_superheat(e: Evidence) -> tuple[float, float] | None:
    """The least and most superheat of a sound unit today [K]; None where bath or air, which decide it, were not read.

    A valve holds its superheat while it can open far enough: not in a warm bath, nor in cold air.
    """
    reading = air_reading(e)
    if reading is None or not e.has("bath_temperature"):
        return None
    air = reading.value.value
    low, high = _in_air(e, air)
    if below(air, COLD_AIR) and (meant := meant_in_celsius(e, reading)) is not None:
        low = min(low, _in_air(e, meant)[0])
    return low, high


def _in_air(e: Evidence, air: float) -> tuple[float, float]:
    """The least and most superheat of a sound unit in air of this temperature [K]."""
    by_air, by_bath = PER_AIR * (air - DESIGN_AIR), PER_BATH * (e.value("bath_temperature") - DESIGN_BATH)
    if e.refrigeration.metering in ("expansion_valve", "electronic_valve"):
        return AT_DESIGN - VALVE_SPREAD, AT_DESIGN + VALVE_SPREAD + max(0.0, by_air) + max(0.0, by_bath)
    middle = AT_DESIGN + by_air + by_bath
    return middle - CAPILLARY_SPREAD, max(middle, 0.0) + CAPILLARY_SPREAD


def shows_charge(e: Evidence) -> bool:
    """Whether it runs steadily, and with its fan."""
    return operating_state(e).settled and not without_fan(e)


def _superheat(e: Evidence) -> Iterator[Finding]:
    if not shows_charge(e):
        return
    found, expected = found_superheat(e), expected_superheat(e)
    low, high = USUAL_SUPERHEAT if expected is None else expected
    low, high = max(low, 0.0), max(high, USUAL_SUPERHEAT[1])
    text = f"Superheat is {e.difference(found.value)} ({_expected(e, low, high, known=expected is not None)})"
    figures: dict[str, Figure] = {"superheat": found}
    if surely_under(found.value, FLOODED, found.uncertainty) and low > FLOODED and expected is not None:
        yield act("superheat_none", f"{text}: liquid may reach the compressor.", advice=FLOODING, **figures)
    elif found.value <= FLOODED:
        sure = surely_under(found.value, FLOODED, found.uncertainty)
        text = f"{text}: {_hardly_any(e, sure=sure)}."
        usual = _hot(e) and not sure
        yield (
            fine("superheat_none", text, **figures) if usual else note("superheat_none", text, advice=PROBE, **figures)
        )
    elif surely_over(found.value, high, found.uncertainty):
        advice = UNDERFED if expected is None else UNDERFED_TODAY
        yield note("superheat_high", f"{text}: the evaporator is underfed.", advice=advice, **figures)
    elif surely_under(found.value, low, found.uncertainty):
        yield note("superheat_low", f"{text}.", advice=PROBE, **figures)
    else:
        inside = "good" if low <= found.value <= high else "too close to the usual to tell"
        yield fine("superheat_good", f"{text}: {inside}.", **figures)


def _hot(e: Evidence) -> bool:
    """Whether the air is known to be so hot that a sound capillary unit may have no superheat."""
    air = air_entering(e)
    return air is not None and air >= HOT_AIR


def _hardly_any(e: Evidence, *, sure: bool) -> str:
    """What next to no superheat means: in hot air, or where the air is not known, a sound unit may have none."""
    air = air_entering(e)
    if air is not None and air < HOT_AIR:
        return "none, or a reading is wrong" if sure else "too close to none to tell"
    return f"{'none, or a reading is wrong; none is' if sure else 'too close to none to tell, and'} usual on a hot day"


def _expected(e: Evidence, low: float, high: float, *, known: bool) -> str:
    of = "expected with this bath and air" if known else "usual"
    return f"{of}: {e.difference(low)} to {e.difference(high)}"


PROBE = (
    "Check the probe's contact and the glycol's flow. Read bath and air with it: the superheat to expect depends on "
    "them."
)
FLOODING = (
    "Check the probe's contact first. Then check the glycol's flow over the coil, ice on the coil, the metering device "
    "and the charge."
)
UNDERFED = (
    "Measure again near the set point: with a capillary this is usual in a warm bath or cold air. If it stays high, "
    "look for a leak or a restricted capillary or drier."
)
UNDERFED_TODAY = (
    "Bath and air do not explain it: look for a leak (oil stains) or a restricted capillary, drier or valve. The "
    "subcooling separates the two."
)


def _subcooling(e: Evidence) -> Iterator[Finding]:
    if not shows_charge(e):
        return
    found = found_subcooling(e)
    low, high = USUAL_SUBCOOLING
    text = f"Subcooling is {e.difference(found.value)} (usual: {e.difference(low)} to {e.difference(high)})"
    figures: dict[str, Figure] = {"subcooling": found}
    if surely_under(found.value, low, found.uncertainty) and _hot(e):
        yield fine("subcooling_good", f"{text}: low, as a sound unit's may be in air this hot.", **figures)
    elif surely_under(found.value, low, found.uncertainty):
        yield note("subcooling_low", f"{text}.", advice=_little_liquid(e), **figures)
    elif surely_over(found.value, high, found.uncertainty) and _held(e):
        yield fine("subcooling_good", f"{text}: high, as a head held up in cold air makes it.", **figures)
    elif surely_over(found.value, high, found.uncertainty):
        yield note("subcooling_high", f"{text}.", advice=_much_liquid(e), **figures)
    else:
        inside = "good" if low <= found.value <= high else "too close to the usual to tell"
        yield fine("subcooling_good", f"{text}: {inside}.", **figures)


def _little_liquid(e: Evidence) -> str:
    """What low subcooling fits, by the superheat where that was read: what lacks charge has not little of both."""
    if e.has("suction_pressure") and e.has("suction_line_temperature"):
        heat = found_superheat(e)
        if surely_under(heat.value, SMALL, heat.uncertainty):
            return (
                "With this little superheat a low charge is not likely: look at the condenser's air, at ice on the "
                "coil and the glycol's flow over it, and then whether the compressor pumps. Do not add refrigerant."
            )
    return "Low subcooling fits a low charge: look for oil stains and leaks before adding refrigerant."


def _held(e: Evidence) -> bool:
    """Whether a control may hold the head up in this air."""
    air = air_entering(e)
    return air is not None and may_be_held(condensing=condensing(e), air=air)


def _much_liquid(e: Evidence) -> str:
    """What high subcooling fits, by the superheat where that can be known."""
    if not (e.has("suction_pressure") and e.has("suction_line_temperature")):
        return "High subcooling fits an overcharge or a restriction after the condenser: compare with the superheat."
    heat, expected = found_superheat(e), expected_superheat(e)
    if surely_over(heat.value, (expected or USUAL_SUPERHEAT)[1], heat.uncertainty):
        return "With a high superheat it fits a restriction after the condenser: feel drier, capillary or valve."
    return (
        "Without a high superheat it fits too much refrigerant, or gas that does not condense. At rest, compare the "
        "pressure with that of the bath's temperature. Do not add refrigerant."
    )


def much_liquid(e: Evidence) -> bool:
    """Whether the liquid line was read and the subcooling is surely over the usual."""
    if not (e.has("liquid_line_temperature") and e.has("discharge_pressure")):
        return False
    found = found_subcooling(e)
    return surely_over(found.value, USUAL_SUBCOOLING[1], found.uncertainty)


def _charge(e: Evidence) -> Iterator[Finding]:
    """What superheat and subcooling say together."""
    if not shows_charge(e):
        return
    expected, heat, cool = expected_superheat(e), found_superheat(e), found_subcooling(e)
    figures: dict[str, Figure] = {"superheat": heat, "subcooling": cool}
    text = f"Subcooling of {e.difference(cool.value)} with a superheat of {e.difference(heat.value)}"
    if heat.value < SMALL:
        yield from _too_much(e, heat, cool, text)
    elif expected is not None and surely_over(heat.value, expected[1], heat.uncertainty):
        if below(cool.value, SHORT_OF_CHARGE):
            advice = "Search for the leak and have it repaired, then weigh in the charge. Do not top up."
            yield act("low_charge_fits", f"{text} fits too little refrigerant.", advice=advice, **figures)
        elif cool.value > SHORT_OF_CHARGE + cool.uncertainty:
            advice = "Feel the drier, then the capillary or valve, for a cold spot. Do not add refrigerant."
            yield act(
                "restriction_fits", f"{text} fits a restriction of drier, capillary or valve.", advice=advice, **figures
            )


def _too_much(e: Evidence, heat: Uncertain, cool: Uncertain, text: str) -> Iterator[Finding]:
    """Whether much liquid stands in the condenser while the evaporator is full: by itself, or both together."""
    figures: dict[str, Figure] = {"superheat": heat, "subcooling": cool}
    if surely_over(cool.value, OVERFULL, cool.uncertainty) and not _held(e):
        yield act("overcharge_fits", f"{text} fits too much refrigerant.", advice=OVERCHARGED, **figures)
    elif heat.value < NEXT_TO_NONE and not (_held(e) or _hot(e)):
        text += " fits too much refrigerant better than gas that does not condense, which it does not rule out."
        apart = cool.value - max(heat.value, 0.0)
        if surely_over(apart, LIQUID_OVER_VAPOUR, together(cool.uncertainty, heat.uncertainty)):
            yield act("overcharge_fits", text, advice=OVERCHARGED, **figures)
        elif cool.value > OVERFULL - cool.uncertainty:
            yield note("overcharge_fits", text, advice=ONCE_MORE, **figures)


SUCTION_LINE = a_reading("suction_line_temperature", suction_can_be_read)
LIQUID_LINE = a_reading("liquid_line_temperature", DISCHARGE.can_be_had)
RULES = (
    Rule(
        codes=("overcharge_fits", "low_charge_fits", "restriction_fits"),
        needs=(REFRIGERANT, SUCTION, SUCTION_LINE, LOW_SIDE, DISCHARGE, LIQUID_LINE, HIGH_SIDE),
        judge=_charge,
        shows="whether the charge is right",
        source="Signs of faults with a fixed orifice: Braun and Li, Fault Detection and Diagnostics for Rooftop Air "
        f"Conditioners, table 1-1, after Rossi and Braun (1997). {SATURATION}",
        caution=CARE,
        asked_by=COOLING,
        weight=0.7,
    ),
    Rule(
        codes=("superheat_none", "superheat_low", "superheat_good", "superheat_high"),
        needs=(REFRIGERANT, SUCTION, SUCTION_LINE, LOW_SIDE),
        judge=_superheat,
        shows="whether the evaporator is fed",
        source="Packaged chiller manual CG-SVX038A, p. 39: 10 to 20 °F at the compressor; by bath and air: a steady "
        f"cycle with a fixed orifice, good to 12 °F. {SATURATION}",
        caution=CARE,
        asked_by=COOLING,
        weight=0.7,
    ),
    Rule(
        codes=("subcooling_low", "subcooling_good", "subcooling_high"),
        needs=(REFRIGERANT, DISCHARGE, LIQUID_LINE, HIGH_SIDE),
        judge=_subcooling,
        shows="whether the charge is roughly right",
        source=f"A refrigeration training site: 10 to 15 °F. {SATURATION}",
        caution=CARE,
        asked_by=COOLING,
        weight=0.7,
    ),
)
