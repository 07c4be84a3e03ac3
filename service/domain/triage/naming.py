"""An explanation in the words that fit what was read and seen: where the power stops, what dirt does not explain."""

from collections.abc import Iterable
from dataclasses import replace

from service.domain.record.visits import Reading
from service.domain.triage.explanation import Explanation
from service.domain.triage.explanations import BY_CODE
from service.domain.triage.measured import LIVE, Measured
from service.domain.triage.question import Seen

NO_POWER, FOULED = "no_power", "condenser_fouled"
GONE = 20.0  # [V]: a meter shows a few volts on a dead conductor beside a live one; common practice, no source
WHY_FIRST = "Read currents, joints and rating to find out why it failed before a new one goes in."
NOT_AGAIN = "A breaker that trips again stays off until the short or the overload is found."


def named(code: str, measured: Measured, seen: Iterable[Seen]) -> Explanation:
    """The explanation; that of missing power with the place where it stops."""
    found = BY_CODE[code]
    if code == FOULED and any(each.code == "condenser_dirty" and not each.present for each in seen):
        return _not_by_dirt(found)
    if code != NO_POWER:
        return found
    before, behind = (measured.values.get(name) for name in ("before", "behind"))
    if before is not None and before < GONE:
        return _no_supply(found)
    if before is not None and before > LIVE and behind is not None and behind < GONE:
        return _stops_at(found, measured.readings["behind"])
    if any(each.code == "breaker_tripped" and each.present for each in seen):
        return replace(found, sentence="The breaker is tripped or the cord is out.", remedy=NOT_AGAIN)
    return found


def _not_by_dirt(found: Explanation) -> Explanation:
    return replace(
        found,
        sentence="Too little air flows through the condenser, which was found clean: its air is blocked, its fan is "
        "weak, or the dirt is deeper.",
        test="Read the air entering and leaving it; look at what stands before and behind it, at the fan's direction, "
        "speed and blade, and through the fins with a torch.",
        remedy="Clear the air path and put the fan right, then read air and bath again before anything else.",
    )


def _no_supply(found: Explanation) -> Explanation:
    return replace(
        found,
        sentence="There is no supply before the switch: breaker, outlet or cord.",
        test="Look at the breaker and the plug; then follow the voltage from the panel to the outlet and the cord.",
        remedy=f"Repair the place where the voltage stops. {NOT_AGAIN}",
    )


def _stops_at(found: Explanation, behind: Reading) -> Explanation:
    place = behind.component or "the switch"
    if behind.quantity == "voltage_before":  # read at what comes after the switch
        sentence = f"The power stops between the supply and {place}: the switch or the wiring between them."
    else:
        sentence = f"The power stops at {place}: voltage before it and none behind it, so it is open or has failed."
    return replace(
        found,
        sentence=sentence,
        test="See that it is switched on and not tripped; then prove it dead and check its contacts.",
        remedy=f"A switch that does not close is replaced. {WHY_FIRST}",
    )
