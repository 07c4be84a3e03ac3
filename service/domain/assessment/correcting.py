"""Putting the strength of one unit's glycol right: how much to drain and how much to pour in."""

from math import pi

from service.domain.assessment.evidence import Evidence, computed, known
from service.domain.assessment.statement import Figure
from service.domain.assessment.strength import target
from service.domain.physics.glycol.mix import VOLUME, Correction, correction
from service.domain.physics.glycol.properties import ROOM, STRENGTH

COMMON_TARGET = "33 to 36 % by mass; one part propylene glycol to two of water by volume is 34 %"
CONCENTRATE, WATER = 1.0, 0.0


def volumes(e: Evidence) -> tuple[float, float]:
    """What bath and loop hold now, and what they may hold [m3]; the bath's volume is a need of the caller."""
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
    """How to bring the glycol to the unit's target, in words and figures; amounts only where the volume is known.

    Reckoned at 20 °C, at which drums are measured; the cold bath holds 1 % more by mass, less than the reading is good
    to.
    """
    wanted = target(e)
    if wanted is None or wanted > STRENGTH.high:
        return f"Bring it to the strength meant for this unit (common: {COMMON_TARGET}).", {}
    aim = f"{wanted * 100:.0f} % by mass"
    told: dict[str, Figure] = {"target_strength": computed(wanted, "mass_fraction")}
    now, full = (0.0, 0.0) if e.bath.volume is None else volumes(e)
    if not VOLUME.low <= now <= full <= VOLUME.high:
        return f"Bring it to this unit's {aim}; with the bath's volume on the record the amounts can be told.", told
    poured = CONCENTRATE if wanted > present else WATER
    how = correction(volume=now, capacity=full, temperature=ROOM, present=present, target=wanted, poured=poured)
    told |= {"drain": computed(how.drain, "volume"), "pour_in": computed(how.pour_in, "volume")}
    return _worded(e, how, aim=aim, what="glycol concentrate" if poured else "distilled water"), told


def _worded(e: Evidence, how: Correction, *, aim: str, what: str) -> str:
    pour = e.show(how.pour_in, "volume")
    if how.drain == 0.0:
        return f"Pour in {pour} of {what} for {aim}; nothing has to be drained. Mix well and measure again."
    drain = e.show(how.drain, "volume")
    return f"Drain {drain}, then pour in {pour} of {what} for {aim}. Mix well and measure again."
