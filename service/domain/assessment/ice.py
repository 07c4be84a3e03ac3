"""Ice: the margin between the coldest surface and the glycol's freezing point, and ice seen on the coil."""

from collections.abc import Iterator

from service.domain.assessment.coldest import coldest_surface
from service.domain.assessment.correcting import WHY_SO_COLD, correct, ice_seen
from service.domain.assessment.evidence import Evidence, Need, a_reading, computed, percent
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.strength import NEEDED, strength, strength_if_known, target
from service.domain.assessment.uncertainty import STRENGTH as UNSURE
from service.domain.assessment.uncertainty import THERMOMETER, surely_under, taken, together
from service.domain.maintenance.catalogue import FOOD_GRADE, LICENSED, LOCKOUT, SLIPPERY
from service.domain.physics.glycol.properties import STRENGTH as CALCULABLE
from service.domain.physics.glycol.properties import freezing_point
from service.domain.physics.glycol.protection import (
    LEAST_MARGIN,
    WEAKEST_KEEPING,
    freeze_margin,
    ice_fraction,
)
from service.domain.physics.ranges import below

FREEZING = 0.6  # K: standard uncertainty of a freezing point from a refractometer


def _margin(e: Evidence) -> Iterator[Finding]:
    found, surface = strength(e), coldest_surface(e)
    if surface is None or found > CALCULABLE.high:
        return
    margin = freeze_margin(mass_fraction=found, coldest_surface=surface.temperature)
    text = (
        f"The glycol, {percent(found)} by mass, freezes at {e.temperature(freezing_point(found))}; "
        f"{surface.phrase} is at {e.temperature(surface.temperature)}"
    )
    spread = together(surface.uncertainty, FREEZING)
    figures: dict[str, Figure] = {
        "strength": Uncertain(found, "mass_fraction", UNSURE),
        "margin": Uncertain(margin, "temperature_difference", spread),
        "freezing_point": Uncertain(freezing_point(found), "temperature", FREEZING),
        "coldest_surface": Uncertain(surface.temperature, "temperature", surface.uncertainty),
    }
    if not below(margin, LEAST_MARGIN):
        if not ice_seen(e):
            yield fine("freeze_margin_good", f"{text}: a margin of {e.difference(margin)}.", **figures)
        return
    advice, amounts = _strengthen_or_ask(e, found)
    figures |= amounts
    if surely_under(surface.likely, freezing_point(found), spread):
        yield act("coil_can_freeze", f"{text}: ice can form on the coil.", advice=advice, **figures)
    else:
        least = e.difference(LEAST_MARGIN)
        yield note(
            "freeze_margin_small",
            f"{text}: {_less_than(e, margin, least)}.",
            advice=advice,
            **figures,
        )


def _less_than(e: Evidence, margin: float, least: str) -> str:
    if margin > 0.0:
        shown = e.difference(margin)
        return f"a margin just under {least}" if shown == least else f"a margin of {shown}, less than {least}"
    return "too close to tell whether ice can form on it"


def _strengthen_or_ask(e: Evidence, found: float) -> tuple[str, dict[str, Figure]]:
    """Strengthen glycol that is below the unit's target; where it is not, the coil is too cold: never dilute."""
    wanted = target(e)
    if wanted is None or below(found, wanted - UNSURE):
        return correct(e, found)
    return f"Do not dilute. {WHY_SO_COLD}", {"target_strength": computed(wanted, "mass_fraction")}


def _slush(e: Evidence) -> Iterator[Finding]:
    found, bath = strength(e), e.value("bath_temperature")
    if found > CALCULABLE.high or not below(bath, freezing_point(found)):
        return
    ice = ice_fraction(mass_fraction=found, temperature=bath)
    text = f"The bath, {e.show_reading(e.reading('bath_temperature'))}, is below its glycol's freezing point, "
    text += f"{e.temperature(freezing_point(found))}"
    figures: dict[str, Figure] = {
        "bath_temperature": taken(e.reading("bath_temperature")),
        "strength": Uncertain(found, "mass_fraction", UNSURE),
        "freezing_point": Uncertain(freezing_point(found), "temperature", FREEZING),
        "ice": Uncertain(ice, "fraction", 0.05),
    }
    if not surely_under(bath, freezing_point(found), together(THERMOMETER, FREEZING)):
        advice = "Look for ice in the bath. Measure strength and bath again."
        yield note("bath_below_freezing", f"{text}: too close to tell.", advice=advice, **figures)
        return
    yield act(
        "bath_below_freezing",
        f"{text}: at rest about {percent(ice)} of it would be ice.",
        advice="Raise the set point. Correct the strength before lowering it again.",
        **figures,
    )


THAW = "Thaw it with the refrigeration off. Run the pump only while it moves glycol. Do not chip at the coil."


def _ice_on_coil(e: Evidence) -> Iterator[Finding]:
    if not ice_seen(e):
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
    yield act("ice_on_coil", text, advice=advice, observed="ice_on_coil", **strength_figure(found))


def strength_figure(found: float | None) -> dict[str, Figure]:
    """The strength as a figure, where it is known."""
    return {} if found is None else {"strength": Uncertain(found, "mass_fraction", UNSURE)}


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
        runs="whole",
        caution=CARE,
    ),
)
