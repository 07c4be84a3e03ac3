"""Ice: the margin between the coldest surface and the glycol's freezing point, and ice seen on the coil."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.assessment.bands import BATH_BAND
from service.domain.assessment.correcting import correct
from service.domain.assessment.evidence import Evidence, Need, a_reading, computed, percent, worth
from service.domain.assessment.finding import Figure, Finding
from service.domain.assessment.refrigerant_of import evaporating, refrigerant_of
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.strength import NEEDED, freezes_at, strength, strength_if_known
from service.domain.maintenance.catalogue import FOOD_GRADE, LICENSED, LOCKOUT, SLIPPERY
from service.domain.physics.glycol.properties import STRENGTH as CALCULABLE
from service.domain.physics.glycol.protection import (
    COIL_BELOW_BATH,
    LEAST_MARGIN,
    WEAKEST_KEEPING,
    estimated_coil_temperature,
    freeze_margin,
    ice_fraction,
)
from service.domain.physics.ranges import above, below


@dataclass(frozen=True, slots=True)
class Surface:
    """The coldest surface in contact with the glycol [K], and how it is known."""

    temperature: float
    phrase: str


def coldest_surface(e: Evidence) -> Surface | None:
    """The coil by its suction pressure or by the bath, whichever is colder; None where neither is known.

    A bath that is still warm does not show the coil of a cold one: then the set point is used.
    """
    found = []
    if e.has("suction_pressure") and refrigerant_of(e) is not None:
        found.append(Surface(evaporating(e), "the coil, by the suction pressure,"))
    bath = _coldest_bath(e)
    if bath is not None:
        found.append(
            Surface(
                estimated_coil_temperature(bath), f"the coil, estimated {e.difference(COIL_BELOW_BATH)} below the bath,"
            )
        )
    return min(found, key=lambda surface: surface.temperature, default=None)


def _coldest_bath(e: Evidence) -> float | None:
    set_point = worth(e.bath.set_point)
    read = e.value("bath_temperature") if e.has("bath_temperature") else None
    now = read if read is not None and not above(read, BATH_BAND[1]) else None
    return min((each for each in (set_point, now) if each is not None), default=None)


def _margin(e: Evidence) -> Iterator[Finding]:
    found, surface = strength(e), coldest_surface(e)
    if surface is None or found > CALCULABLE.high:
        return
    margin = freeze_margin(mass_fraction=found, coldest_surface=surface.temperature)
    text = (
        f"The glycol, {percent(found)} by mass, freezes at {e.temperature(freezes_at(found))}; {surface.phrase} is at "
        f"{e.temperature(surface.temperature)}"
    )
    figures: dict[str, Figure] = {
        "margin": computed(margin, "temperature_difference"),
        "freezing_point": computed(freezes_at(found), "temperature"),
        "coldest_surface": computed(surface.temperature, "temperature"),
    }
    if not below(margin, LEAST_MARGIN):
        yield fine("freeze_margin_good", f"{text}: a margin of {e.difference(margin)}.", **figures)
        return
    advice, amounts = correct(e, found)
    figures |= amounts
    if below(margin, 0.0):
        yield act("coil_can_freeze", f"{text}: ice can form on the coil.", advice=advice, **figures)
    else:
        least = e.difference(LEAST_MARGIN)
        yield note(
            "freeze_margin_small",
            f"{text}: a margin of {e.difference(margin)}, less than {least}.",
            advice=advice,
            **figures,
        )


def _slush(e: Evidence) -> Iterator[Finding]:
    found, bath = strength(e), e.value("bath_temperature")
    if found > CALCULABLE.high or not below(bath, freezes_at(found)):
        return
    ice = ice_fraction(mass_fraction=found, temperature=bath)
    yield act(
        "bath_below_freezing",
        f"The bath, {e.show_reading(e.reading('bath_temperature'))}, is below its glycol's freezing point, "
        f"{e.temperature(freezes_at(found))}: at rest about {percent(ice)} of it would be ice.",
        advice="Raise the set point. Correct the strength before lowering it again.",
        bath_temperature=computed(bath, "temperature"),
        freezing_point=computed(freezes_at(found), "temperature"),
        ice=computed(ice, "fraction"),
    )


THAW = "Thaw it with the refrigeration off. Run the pump only while it moves glycol. Do not chip at the coil."


def _ice_on_coil(e: Evidence) -> Iterator[Finding]:
    if "ice_on_coil" not in e.seen:
        return
    found = strength_if_known(e)
    if found is None:
        text = "There is ice on the coil. The usual cause is weak glycol; its strength was not recorded."
        advice = f"{THAW} Measure the strength first."
    elif found < WEAKEST_KEEPING:
        text = f"There is ice on the coil, and the glycol is only {percent(found)} by mass, which explains it."
        advice = f"{THAW} Then correct the strength: more refrigerant or a lower set point makes it worse."
    else:
        text = f"There is ice on the coil although the glycol is {percent(found)} by mass."
        advice = f"{THAW} Check pump and agitator, the flow and the controller; check the charge last."
    yield act("ice_on_coil", text, advice=advice)


CARE = f"{FOOD_GRADE} {SLIPPERY} {LOCKOUT} {LICENSED}"
COLDEST = Need(
    "bath_temperature",
    "visit",
    "the bath temperature",
    lambda e: e.has("bath_temperature") or e.has("suction_pressure") or e.bath.set_point is not None,
)

RULES = (
    Rule(
        codes=("freeze_margin_good", "freeze_margin_small", "coil_can_freeze"),
        needs=(*NEEDED, COLDEST),
        judge=_margin,
        shows="whether ice can form on the coil",
        source="A chiller maker's answer: coil at 10 to 15 °F in a bath at 25 °F, protect for the coil; an article on "
        "testing glycol in HVAC: 5 °F of margin; freezing points by Melinder (IIF-IIR, 2010)",
        caution=CARE,
        asked_by=frozenset({"frozen", "no_flow", "ice_on_coil", "warm_pour"}),
        weight=0.5,
    ),
    Rule(
        codes=("bath_below_freezing",),
        needs=(*NEEDED, a_reading("bath_temperature")),
        judge=_slush,
        shows="whether the bath is freezing",
        source="Freezing points by Melinder (IIF-IIR, 2010) and the lever rule; a bath may stay liquid somewhat colder",
        caution=CARE,
        asked_by=frozenset({"frozen", "no_flow"}),
        weight=0.3,
    ),
    Rule(
        codes=("ice_on_coil",),
        needs=(),
        judge=_ice_on_coil,
        shows="why there is ice",
        source="Trade guides: weak glycol lets ice build in the reservoir and block the flow; chiller articles on a "
        "frozen evaporator: strength, pump, flow, set point, charge",
        caution=CARE,
    ),
)
