"""Correcting the strength of a unit's glycol: how much to drain and how much to pour in."""

from math import pi

from service.domain.assessment.coldest import needed_strength
from service.domain.assessment.evidence import Evidence, computed, known, percent
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.strength import target
from service.domain.assessment.uncertainty import STRENGTH as STRENGTH_UNCERTAINTY
from service.domain.physics.glycol.mix import VOLUME, Correction, correction
from service.domain.physics.glycol.properties import ROOM, STRENGTH

COMMON_TARGET = "33 to 36 % by mass; one part propylene glycol to two of water by volume is 34 %"
CONCENTRATE, WATER = 1.0, 0.0
WHY_SO_COLD = (
    "Ask why the coil is so cold: the flow of glycol over it, the set point, a restriction, the charge, or cold air at "
    "the condenser."
)
THAW_FIRST = (
    "Thaw the coil with the refrigeration off, mix, and measure again before anything is poured in: while there is "
    "ice, the rest reads too strong."
)


def volumes(e: Evidence) -> tuple[float, float]:
    """Volume in bath and loop now, and when full [m3]; the bath's volume must be among the rule's needs."""
    loop = sum(
        2.0 * pi / 4.0 * trunk.glycol_bore.value**2 * run.length.value
        for trunk in e.unit.trunks
        if trunk.glycol_bore is not None
        for run in trunk.runs
    )
    full = known(e.bath.volume)
    level = min(e.value("bath_level"), 1.0) if e.has("bath_level") else 1.0
    return full * level + loop, full + loop


def correct(e: Evidence, present: float) -> tuple[str, dict[str, Figure]]:
    """How to bring the glycol to the unit's target, as text and figures; amounts only where the volume is known.

    Never below what the coldest surface needs, and no amounts while there is ice. Calculated at 20 °C, the reference
    for drums; the cold bath holds 1 % more by mass, less than the error of the reading.
    """
    wanted, needed = target(e), needed_strength(e)
    figures: dict[str, Figure] = {}
    if needed is not None:
        figures["needed_strength"] = Uncertain(needed, "mass_fraction", STRENGTH_UNCERTAINTY)
    if wanted is None or wanted > STRENGTH.high:
        return f"Bring it to this unit's strength (common: {COMMON_TARGET}).", figures
    figures["target_strength"] = computed(wanted, "mass_fraction")
    if present > wanted and needed is not None and needed > wanted:
        return f"Do not dilute: the coldest surface needs {percent(needed)}. {WHY_SO_COLD}", figures
    if ice_seen(e):
        return THAW_FIRST, figures
    return _amounts(e, present, wanted, figures), figures


def ice_seen(e: Evidence) -> bool:
    """Whether ice was seen on the coil: then what is liquid is stronger than all of it is."""
    return "ice_on_coil" in e.seen


def _amounts(e: Evidence, present: float, wanted: float, figures: dict[str, Figure]) -> str:
    aim = f"{wanted * 100:.0f} % by mass"
    now, full = (0.0, 0.0) if e.bath.volume is None else volumes(e)
    if not VOLUME.low <= now <= full <= VOLUME.high:
        return f"Bring it to this unit's {aim}. Record the bath's volume to get the amounts."
    poured = CONCENTRATE if wanted > present else WATER
    how = correction(volume=now, capacity=full, temperature=ROOM, present=present, target=wanted, poured=poured)
    figures |= {"drain": computed(how.drain, "volume"), "pour_in": computed(how.pour_in, "volume")}
    return _instruction(e, how, aim=aim, what="glycol concentrate" if poured else "distilled water")


def _instruction(e: Evidence, how: Correction, *, aim: str, what: str) -> str:
    pour = e.show(how.pour_in, "volume")
    if how.drain == 0.0:
        return f"Pour in {pour} of {what} for {aim}; no draining is needed. Mix well and measure again."
    drain = e.show(how.drain, "volume")
    return f"Drain {drain}, then pour in {pour} of {what} for {aim}. Mix well and measure again."
