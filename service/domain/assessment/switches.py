"""The current through each switch against its rating."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from service.domain.assessment.currents import ELECTRICAL, rated
from service.domain.assessment.evidence import Evidence, Need, a_reading, computed, listed, percent
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.motors import is_locked
from service.domain.assessment.rule import Rule, act, fine, note, run_rule, stop
from service.domain.assessment.uncertainty import current_uncertainty, surely_over, taken, together, uncertainty
from service.domain.maintenance.catalogue import CAPACITORS, LICENSED, LOCKOUT
from service.domain.physics.electrical.switch_load import SwitchLoad, switch_load
from service.domain.physics.ranges import above
from service.domain.record.feeds import loads_behind
from service.domain.record.fleet import Component
from service.domain.record.visits import Reading

SWITCHES = frozenset({"power_switch", "contactor", "temperature_controller"})
MOTORS = frozenset({"pump", "pump_motor", "compressor", "condenser_fan", "agitator"})
NEARLY = 0.8  # of the allowed current; judged
PROTECTED = 1.15  # of a motor's current its overload protection may allow for good, NEC 430.32(A)(1)
APART = 0.05  # of the sum, one standard deviation: power factors that differ, readings minutes apart; judged, no source
LEAST_APART = 1.0  # A; judged, no source
STANDS = 0.1  # A
RATING_PHRASES = {
    "motor": "rated for motors",
    "ac_only": "an AC snap switch",
    "resistive": "rated for resistive loads",
}


@dataclass(frozen=True, slots=True)
class Through:
    """Currents of the loads behind a switch [A]; which are read, by nameplate, unknown; the sum of those read."""

    motors: tuple[float, ...]
    others: tuple[float, ...]
    read: tuple[str, ...]
    nameplate: tuple[str, ...]
    unknown: tuple[str, ...]
    measured: float = 0.0

    @property
    def origin(self) -> str:
        """Where the sum comes from."""
        known = [f"read at {listed(self.read)}"] if self.read else []
        known += [f"nameplate of {listed(self.nameplate)}"] if self.nameplate else []
        return "; ".join(known)


def through(e: Evidence, switch: Component) -> Through:
    """The running current through a switch: read at the switch, else the sum of its loads, read or by nameplate.

    A motor whose rotor is locked draws no running current: its nameplate counts, as it has a finding of its own.
    """
    loads = loads_behind(e.parts, switch)
    own = e.at("current", switch.code)
    if own is not None and not any(_locked(e, load) for load in loads):
        motors = any(load.kind in MOTORS for load in loads)
        return Through((own,) if motors else (), () if motors else (own,), (switch.code,), (), (), own)
    currents = {
        load.code: (load, None if _locked(e, load) else e.at("current", load.code), rated(load)) for load in loads
    }
    known = [(load, read if read is not None else plate) for load, read, plate in currents.values()]
    return Through(
        motors=tuple(current for load, current in known if current is not None and load.kind in MOTORS),
        others=tuple(current for load, current in known if current is not None and load.kind not in MOTORS),
        read=tuple(code for code, (_, read, _) in currents.items() if read is not None),
        nameplate=tuple(code for code, (_, read, plate) in currents.items() if read is None and plate is not None),
        unknown=tuple(code for code, (_, read, plate) in currents.items() if read is None and plate is None),
        measured=sum(read for _, read, _ in currents.values() if read is not None),
    )


def _locked(e: Evidence, load: Component) -> bool:
    read = e.at("current", load.code)
    return load.kind in MOTORS and read is not None and is_locked(read, rated(load))


def _switches(e: Evidence) -> list[Component]:
    return [part for part in e.parts.values() if part.kind in SWITCHES and part.feeds and rated(part) is not None]


FED = Need(
    "components.feeds",
    "unit",
    "which components each switch feeds, and its rated current,",
    lambda e: bool(_switches(e)),
)
BEHIND = Need(
    "current",
    "visit",
    "the current",
    lambda e: any(through(e, switch).motors or through(e, switch).others for switch in _switches(e)),
)


def _loads(e: Evidence) -> Iterator[Finding]:
    for switch in _switches(e):
        yield from run_rule(e, _load, switch)


def _load(e: Evidence, switch: Component) -> Iterator[Finding]:
    found, printed = through(e, switch), rated(switch)
    if printed is None or not (found.motors or found.others):
        return
    if not found.read and _read_as_found(e, switch):
        return  # what was read as found is judged there: nameplates print the most, not what flows
    carried = _carried(found, printed, switch.rating)
    spread = current_uncertainty(carried.share)
    least = "at least " if found.unknown else ""
    does = "carries" if found.read else "would carry"
    text = (
        f"{switch.code} {does} {least}{e.show(carried.running, 'current')} ({found.origin}); "
        f"{_allowed(e, printed, carried, switch.rating)}"
    )
    figures: dict[str, Figure] = {
        "component": switch.code,
        "running": Uncertain(carried.running, "current", current_uncertainty(carried.running)),
        "starting": computed(carried.starting, "current"),
        "rated_current": computed(printed, "current"),
        "share": Uncertain(carried.share, "fraction", spread),
    }
    if surely_over(carried.share, 1.0, spread):
        read_alone = carried.share * found.measured / carried.running  # a nameplate prints the most, not what flows
        hot = surely_over(read_alone, PROTECTED, spread)
        text = f"{text}: {percent(carried.share)} of the allowed current."
        make = stop if hot else act
        advice = f"{_fitted(e, switch)}{NOT_UNDER_IT if hot else FEEL_IT}{LARGER}"
        yield make("switch_over_rating", text, advice=advice, **figures)
    elif above(carried.share, NEARLY):
        close = ", too close to tell whether it is over" if above(carried.share, 1.0 - spread) else ""
        text += f": {percent(carried.share)} of the allowed current{close}."
        yield note("switch_near_rating", text, advice=SPARE, **figures)
    elif found.measured and not found.unknown:  # where nothing flows, no load was seen
        yield fine("switch_load_good", f"{text}: {percent(carried.share)} of the allowed current.", **figures)


def _read_as_found(e: Evidence, switch: Component) -> bool:
    """Whether, as left, a load's current is known from what was found: the part is the same as then."""
    new = {part.component for part in e.visit.replacements}
    loads = {load.code for load in loads_behind(e.parts, switch)}
    if e.moment != "as_left" or new & {switch.code, *loads}:
        return False
    return any(
        each.quantity == "current" and each.when == "as_found" and each.component in {switch.code, *loads}
        for each in e.visit.readings
    )


def _fitted(e: Evidence, switch: Component) -> str:
    """What comes first where the switch was replaced at this visit: the record has the rating of the position."""
    ours = any(part.component == switch.code and part.by == "us" for part in e.visit.replacements)
    return SAME_AGAIN if ours else ""


SAME_AGAIN = (
    "A new one of the same rating is no remedy; where it has a larger one, record that in the unit's components. "
)
NOT_UNDER_IT = "Do not leave it under this load, and do not just replace it like for like: fit "
FEEL_IT = "Check its terminals for heat and its voltage drop before leaving. At the next visit fit "
LARGER = "a switch or contactor rated for its motors, re-terminate the conductors, and find the cause of the currents."
SPARE = "Check its terminals for heat and its voltage drop, and plan for a larger rating when it is next replaced."


def _sums(e: Evidence) -> Iterator[Finding]:
    """What was read at a switch against the sum of all its loads."""
    for switch in e.parts.values():
        own, loads = e.reading_at("current", switch.code), loads_behind(e.parts, switch)
        read = [e.reading_at("current", load.code) for load in loads]
        known = [each for each in read if each is not None]
        if switch.kind not in SWITCHES or own is None or not loads or len(known) < len(read):
            continue
        if any(_locked(e, load) for load in loads) or any(each.value.value < STANDS for each in known):
            continue  # it comes and goes: the switch may have been read while it ran
        total = sum(each.value.value for each in known)
        spread = together(uncertainty(own), *(uncertainty(each) for each in known), APART * max(total, own.value.value))
        apart = own.value.value - total
        if surely_over(abs(apart), LEAST_APART, spread):
            yield _apart(e, switch.code, own, known, total, Uncertain(apart, "current", spread))


def _apart(e: Evidence, code: str, own: Reading, known: Sequence[Reading], total: float, apart: Uncertain) -> Finding:
    loads = listed(f"{each.component} {e.show_reading(each)}" for each in known)
    text = (
        f"{code} carries {e.show_reading(own)}, but its loads draw {e.show(total, 'current')} together ({loads}): "
        f"{e.show(abs(apart.value), 'current')} {'more' if apart.value > 0.0 else 'less'} than they explain."
    )
    more = (
        "Read each again with one meter, one conductor in the jaws, while all of them run. If it stays, look for a "
        "load that is not on record, and for a leak to earth: clamp both conductors together, which must read 0 A."
    )
    less = (
        "Read each again with one meter, one conductor in the jaws, while all of them run. If it stays, a load is fed "
        "past this switch: correct what it feeds."
    )
    return act(
        "currents_contradict", text, advice=more if apart.value > 0.0 else less, component=code,
        switch_current=taken(own), sum_of_loads=computed(total, "current"), apart=apart,
    )  # fmt: skip


def _carried(found: Through, printed: float, rating: str | None) -> SwitchLoad:
    """The load against the kind of rating; where that is not recorded, against the printed amperes."""
    if rating is not None:
        return switch_load(found.motors, rated_current=printed, rating=rating, others=found.others)
    by_print = switch_load(found.motors, rated_current=printed, rating="motor", others=found.others)
    return replace(by_print, motor_limit=printed, share=by_print.running / printed)


def _allowed(e: Evidence, printed: float, carried: SwitchLoad, rating: str | None) -> str:
    if rating is None:
        return f"its printed rating is {e.show(printed, 'current')}"
    limit = e.show(carried.motor_limit, "current")
    return f"rated {e.show(printed, 'current')} ({RATING_PHRASES[rating]}), it may carry {limit} of motor load"


RULES = (
    Rule(
        codes=("currents_contradict",),
        needs=(a_reading("current"),),
        judge=_sums,
        shows="whether the currents of a switch and its loads agree",
        source="Kirchhoff's first law; margins of 10 % and 1 A for power factors and times apart: common practice, no "
        "source",
        caution=f"{LOCKOUT} {LICENSED}",
        weight=0.2,
        lasts=True,
    ),
    Rule(
        codes=("switch_over_rating", "switch_near_rating", "switch_load_good"),
        needs=(FED, BEHIND),
        judge=_loads,
        shows="whether a switch is overloaded",
        source="NEC (NFPA 70) 404.14, 430.83, 430.109, 430.110 and 210.20(A), UL 982, as quoted in UL's guide "
        "information and examination banks; the maker's own motor rating rules where there is one",
        caution=f"{LOCKOUT} {CAPACITORS} {LICENSED}",
        asked_by=ELECTRICAL,
        weight=1.2,
        lasts=True,
    ),
)
