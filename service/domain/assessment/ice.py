"""Ice: how far the coldest surface is from the glycol's freezing point, and what ice on the coil means."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.assessment.bands import BATH_BAND
from service.domain.assessment.correcting import correct
from service.domain.assessment.evidence import Evidence, Need, a_reading, computed, percent, worth
from service.domain.assessment.refrigerant_of import evaporating, refrigerant_of
from service.domain.assessment.rule import Rule, Said, act, fine, note
from service.domain.assessment.statement import Figure
from service.domain.assessment.strength import NEEDED, freezes_at, strength, strength_if_known
from service.domain.maintenance.catalogue import FOOD_GRADE, LICENSED, LOCKOUT, SLIPPERY
from service.domain.physics.glycol.properties import STRENGTH as RECKONED
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
    """The coldest surface that the glycol touches [K], and how that is known."""

    temperature: float
    words: str


def coldest_surface(e: Evidence) -> Surface | None:
    """The coil by its suction pressure or by the bath, whichever is colder; None where neither is known.

    A bath still warm says nothing of the coil in a cold one: then the set point stands for it.
    """
    found = []
    if e.has("suction_pressure") and refrigerant_of(e) is not None:
        found.append(Surface(evaporating(e), "the coil, by the suction pressure,"))
    bath = _coldest_bath(e)
    if bath is not None:
        found.append(
            Surface(
                estimated_coil_temperature(bath), f"the coil, reckoned {e.difference(COIL_BELOW_BATH)} under the bath,"
            )
        )
    return min(found, key=lambda surface: surface.temperature, default=None)


def _coldest_bath(e: Evidence) -> float | None:
    set_point = worth(e.bath.set_point)
    read = e.value("bath_temperature") if e.has("bath_temperature") else None
    now = read if read is not None and not above(read, BATH_BAND[1]) else None
    return min((each for each in (set_point, now) if each is not None), default=None)


def _margin(e: Evidence) -> Iterator[Said]:
    found, surface = strength(e), coldest_surface(e)
    if surface is None or found > RECKONED.high:
        return
    margin = freeze_margin(mass_fraction=found, coldest_surface=surface.temperature)
    said = (
        f"The glycol, {percent(found)} by mass, freezes at {e.temperature(freezes_at(found))}; {surface.words} is at "
        f"{e.temperature(surface.temperature)}"
    )
    figures: dict[str, Figure] = {
        "margin": computed(margin, "temperature_difference"),
        "freezing_point": computed(freezes_at(found), "temperature"),
        "coldest_surface": computed(surface.temperature, "temperature"),
    }
    if not below(margin, LEAST_MARGIN):
        yield fine("freeze_margin_good", f"{said}: {e.difference(margin)} of margin.", **figures)
        return
    advice, amounts = correct(e, found)
    figures |= amounts
    if below(margin, 0.0):
        yield act("coil_can_freeze", f"{said}: ice can build on the coil.", advice=advice, **figures)
    else:
        least = e.difference(LEAST_MARGIN)
        yield note(
            "freeze_margin_small", f"{said}: {e.difference(margin)}, less than {least}.", advice=advice, **figures
        )


def _slush(e: Evidence) -> Iterator[Said]:
    found, bath = strength(e), e.value("bath_temperature")
    if found > RECKONED.high or not below(bath, freezes_at(found)):
        return
    ice = ice_fraction(mass_fraction=found, temperature=bath)
    yield act(
        "bath_below_freezing",
        f"The bath, {e.told(e.reading('bath_temperature'))}, is colder than its glycol's freezing point, "
        f"{e.temperature(freezes_at(found))}: at rest some {percent(ice)} of it would be ice.",
        advice="Raise the set point, and put the strength right before it is lowered again.",
        bath_temperature=computed(bath, "temperature"),
        freezing_point=computed(freezes_at(found), "temperature"),
        ice=computed(ice, "fraction"),
    )


THAW = "Thaw it with the refrigeration off; run the pump only while it moves glycol, and do not chip at the coil."


def _ice_on_coil(e: Evidence) -> Iterator[Said]:
    if "ice_on_coil" not in e.seen:
        return
    found = strength_if_known(e)
    if found is None:
        said = "There is ice on the coil. The usual cause is weak glycol, and its strength was not told."
        advice = f"{THAW} Measure the strength before anything else."
    elif found < WEAKEST_KEEPING:
        said = f"There is ice on the coil, and the glycol is only {percent(found)} by mass: that explains it."
        advice = f"{THAW} Then put the strength right: more refrigerant or a lower set point makes it worse."
    else:
        said = f"There is ice on the coil although the glycol is {percent(found)} by mass."
        advice = f"{THAW} Look at pump and agitator, at the flow, at the controller, and at the charge last."
    yield act("ice_on_coil", said, advice=advice)


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
        tells="whether ice can build on the coil",
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
        tells="whether the bath is turning to ice",
        source="Freezing points by Melinder (IIF-IIR, 2010) and the lever rule; a bath may stay liquid somewhat colder",
        caution=CARE,
        asked_by=frozenset({"frozen", "no_flow"}),
        weight=0.3,
    ),
    Rule(
        codes=("ice_on_coil",),
        needs=(),
        judge=_ice_on_coil,
        tells="why there is ice",
        source="Trade guides: weak glycol lets ice build in the reservoir and block the flow; chiller articles on a "
        "frozen evaporator: strength, pump, flow, set point, charge",
        caution=CARE,
    ),
)
