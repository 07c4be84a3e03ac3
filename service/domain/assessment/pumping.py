"""A compressor that runs and pumps nothing: it draws its current, and both pressures stay equal."""

from collections.abc import Collection, Iterator, Sequence

from service.domain.assessment.air import air_rise_of
from service.domain.assessment.clues import HEAT_GIVEN, NO_HEAT, equal_while_running
from service.domain.assessment.doubt import GAUGES
from service.domain.assessment.evidence import Evidence, computed, listed
from service.domain.assessment.finding import Finding
from service.domain.assessment.motors import currents_of
from service.domain.assessment.refrigerant_of import DISCHARGE, SUCTION
from service.domain.assessment.rule import Rule, act, note
from service.domain.assessment.starting import EQUAL
from service.domain.assessment.timed_bath import TIMED, verdict
from service.domain.maintenance.catalogue import HOT, LICENSED
from service.domain.maintenance.catalogue import REFRIGERANT as CIRCUIT
from service.domain.physics.bath.pull_down_verdict import Verdict
from service.domain.record.visits import Reading

AT_ONCE = 60.0  # s
GAUGES_FIRST = (
    "Close both valves of the gauges and read both pressures again while it draws current. If they stay equal, its "
    "valves or its motor failed."
)
FAILED = (
    "Close both valves of the gauges and read both pressures once more while it draws current. If they stay equal, "
    "switch it off: its valves or its motor failed, or it runs backwards where it has three phases."
)


def _not_pumping(e: Evidence) -> Iterator[Finding]:
    if (apart := equal_while_running(e)) is None:
        return
    text = f"The compressor draws its current, but head and suction are only {e.show(abs(apart), 'pressure')} apart"
    figures = {"apart": computed(apart, "pressure")}
    compressors = {each.component for each in currents_of(e, "compressor")}
    if (borne_out := _no_cooling(e)) and seen_at_once(e.readings, compressors):
        text = f"{text}, and {listed(borne_out)}: it pumps nothing."
        yield act("pressures_equal_running", text, advice=FAILED, **figures)
    elif (rise := air_rise_of(e)) is not None and rise > HEAT_GIVEN:
        text += f", although its air warms up by {e.difference(rise)}: one of the two pressures is wrong."
        yield note("pressures_equal_running", text, advice="Read both pressures again.", **figures)
    else:
        text += ": it does not pump, or the pressures were read before it started."
        yield note("pressures_equal_running", text, advice=GAUGES_FIRST, **figures)


def seen_at_once(readings: Sequence[Reading], compressors: Collection[str | None]) -> bool:
    """Whether pressures and current were read within a minute, or the pressures twice and equal again.

    Else the compressor may have started between them: pressures, air and bath then show a unit at rest.
    """
    gauges = [[each for each in readings if each.quantity == quantity] for quantity in GAUGES]
    amps = [each for each in readings if each.quantity == "current" and each.component in compressors]
    if not all(gauges) or not amps:
        return False
    suctions, heads = gauges
    pairs = [head.value.value - suction.value.value for suction, head in zip(suctions, heads, strict=False)]
    if len(pairs) > 1:
        return all(apart < EQUAL for apart in pairs)
    times = [each.at for each in (suctions[-1], heads[-1], amps[-1])]
    known = [at.timestamp() for at in times if at is not None]
    return len(known) == len(times) and max(known) - min(known) <= AT_ONCE


def _no_cooling(e: Evidence) -> list[str]:
    """What else shows that no heat is moved: pressures alone may have been read before it started."""
    shown = []
    if TIMED.found(e) and verdict(e) is Verdict.NOT_COOLING:
        shown.append("the bath does not cool")
    rise = air_rise_of(e)
    return shown if rise is None or rise >= NO_HEAT else [*shown, "its air does not warm up"]


RULES = (
    Rule(
        codes=("pressures_equal_running",),
        needs=(SUCTION, DISCHARGE),
        judge=_not_pumping,
        shows="whether the compressor pumps",
        source="A running unit keeps 25 psi and more even in cold air, calculated with CoolProp 8",
        caution=f"{CIRCUIT} {HOT} {LICENSED}",
        weight=0.0,
    ),
)
