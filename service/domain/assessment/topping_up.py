"""Refrigerant that was added, and what superheat and subcooling of the same moment say of it."""

from collections.abc import Iterator

from service.domain.assessment.apart import HIGH_SIDE, LOW_SIDE
from service.domain.assessment.evidence import Evidence, a_reading, percent
from service.domain.assessment.figure import Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.refrigerant_of import DISCHARGE, REFRIGERANT, SUCTION
from service.domain.assessment.refrigeration import CARE
from service.domain.assessment.rule import Rule, note
from service.domain.assessment.superheats import (
    LIQUID_LINE,
    SHORT_OF_CHARGE,
    SUCTION_LINE,
    expected_superheat,
    found_subcooling,
    found_superheat,
    shows_charge,
)
from service.domain.assessment.uncertainty import surely_over, taken
from service.domain.physics.refrigeration.superheat import USUAL_SUPERHEAT
from service.domain.quantities import format_quantity

LEAST_CHARGE = 0.01  # kg; below it a charge on record is no circuit's
LEAK = "Find and repair the leak; weigh the whole charge in by the nameplate: after a top-up it is unknown."
RESTRICTED = (
    "Feel the drier, then the capillary or valve, for a cold spot, and add no more. Then have the whole charge weighed "
    "in by the nameplate: after a top-up it is unknown."
)
CIRCUIT = (REFRIGERANT, SUCTION, SUCTION_LINE, LOW_SIDE, DISCHARGE, LIQUID_LINE, HIGH_SIDE)


def _added(e: Evidence) -> Iterator[Finding]:
    """Refrigerant that was added: a sealed circuit uses none up."""
    added, charge = e.reading("refrigerant_added"), e.refrigeration.charge
    if added.value.value <= 0.0:
        return
    share = ""
    if charge is not None and charge.value >= LEAST_CHARGE:
        share = f", {percent(added.value.value / charge.value)} of its charge"
    text = f"{format_quantity(added.value, e.system)} of refrigerant was added{share}"
    found = _liquid_and_starved(e)
    if found is None:
        yield note(
            "refrigerant_added",
            f"{text}: a sealed circuit uses none up.",
            advice=LEAK,
            added=taken(added),
        )
        return
    heat, cool = found
    yield note(
        "refrigerant_added",
        f"{text}, and with a subcooling of {e.difference(cool.value)} beside a superheat of "
        f"{e.difference(heat.value)} liquid stands before a starved "
        "evaporator: it does not lack refrigerant, something holds it back.",
        advice=RESTRICTED,
        added=taken(added),
        superheat=heat,
        subcooling=cool,
    )


def _liquid_and_starved(e: Evidence) -> tuple[Uncertain, Uncertain] | None:
    """Superheat and subcooling where liquid surely stands before an evaporator that gets too little; else None."""
    if not all(need.found(e) for need in CIRCUIT) or not shows_charge(e):
        return None
    heat, cool = found_superheat(e), found_subcooling(e)
    starved = surely_over(heat.value, _starved_from(e), heat.uncertainty)
    liquid = surely_over(cool.value, SHORT_OF_CHARGE, cool.uncertainty)
    return (heat, cool) if starved and liquid else None


def _starved_from(e: Evidence) -> float:
    """The superheat [K] over which an evaporator gets too little, halfway from the middle to the most of today.

    Somebody who adds refrigerant found too little cooling: less than what is judged by itself is enough.
    """
    expected = expected_superheat(e)
    if expected is None:
        return USUAL_SUPERHEAT[1]
    low, high = expected
    return 0.25 * low + 0.75 * high


RULES = (
    Rule(
        codes=("refrigerant_added",),
        needs=(a_reading("refrigerant_added"),),
        judge=_added,
        shows="whether the circuit loses refrigerant",
        source="A sealed circuit loses refrigerant through a leak only: common practice, no source; a high superheat "
        "with liquid before the metering device is a restriction: Braun and Li, table 1-1, after Rossi and Braun",
        caution=CARE,
        weight=0.0,
    ),
)
