"""What runs through each switch against what it may carry by its rating."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from service.domain.assessment.currents import ELECTRICAL, SWITCHING, rated
from service.domain.assessment.evidence import Evidence, Need, computed, listed, percent
from service.domain.assessment.rule import Rule, Said, fine, note, stop, told
from service.domain.assessment.statement import Figure
from service.domain.maintenance.catalogue import CAPACITORS, LICENSED, LOCKOUT
from service.domain.physics.electrical.switch_load import SwitchLoad, switch_load
from service.domain.physics.ranges import above
from service.domain.record.fleet import Component

SWITCHES = frozenset({"power_switch", "contactor", "temperature_controller"})
MOTORS = frozenset({"pump", "pump_motor", "compressor", "condenser_fan", "agitator"})
COIL = ("temperature_controller", "contactor")  # a controller switches a contactor's coil, not what the contactor feeds
NEARLY = 0.8  # of what it may carry; judged
RATING_WORDS = {
    "motor": "rated for motors",
    "ac_only": "an AC snap switch",
    "resistive": "rated for resistive loads",
}


@dataclass(frozen=True, slots=True)
class Through:
    """Currents behind a switch [A]: motors and others; which of them were read, taken from nameplates, or unknown."""

    motors: tuple[float, ...]
    others: tuple[float, ...]
    read: tuple[str, ...]
    nameplate: tuple[str, ...]
    unknown: tuple[str, ...]

    @property
    def words(self) -> str:
        """Where the sum comes from."""
        known = [f"read at {listed(self.read)}"] if self.read else []
        known += [f"nameplate of {listed(self.nameplate)}"] if self.nameplate else []
        return "; ".join(known)


def through(e: Evidence, switch: Component) -> Through:
    """What runs through a switch: read at the switch itself, else the sum of what it feeds, read or by nameplate."""
    loads = _behind(e, switch, frozenset())
    own = e.at("current", switch.code)
    if own is not None:
        motors = any(load.kind in MOTORS for load in loads)
        return Through((own,) if motors else (), () if motors else (own,), (switch.code,), (), ())
    currents = {load.code: (load, e.at("current", load.code), rated(load)) for load in loads}
    known = [(load, read if read is not None else plate) for load, read, plate in currents.values()]
    return Through(
        motors=tuple(current for load, current in known if current is not None and load.kind in MOTORS),
        others=tuple(current for load, current in known if current is not None and load.kind not in MOTORS),
        read=tuple(code for code, (_, read, _) in currents.items() if read is not None),
        nameplate=tuple(code for code, (_, read, plate) in currents.items() if read is None and plate is not None),
        unknown=tuple(code for code, (_, read, plate) in currents.items() if read is None and plate is None),
    )


def _behind(e: Evidence, part: Component, passed: frozenset[str]) -> tuple[Component, ...]:
    """The loads that a component feeds, through other switches too; a circle in the record is walked once."""
    loads: dict[str, Component] = {}
    for code in part.feeds:
        fed = e.parts.get(code)
        if fed is None or code in passed or (part.kind, fed.kind) == COIL:
            continue
        further = _behind(e, fed, passed | {part.code, code}) if fed.kind in SWITCHING else ()
        loads |= {load.code: load for load in further} if fed.kind in SWITCHING else {code: fed}
    return tuple(loads.values())


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


def _loads(e: Evidence) -> Iterator[Said]:
    for switch in _switches(e):
        yield from told(e, _load, switch)


def _load(e: Evidence, switch: Component) -> Iterator[Said]:
    found, printed = through(e, switch), rated(switch)
    if printed is None or not (found.motors or found.others):
        return
    carried = _carried(found, printed, switch.rating)
    least = "at least " if found.unknown else ""
    said = (
        f"{switch.code} carries {least}{e.show(carried.running, 'current')} ({found.words}); "
        f"{_allowed(e, printed, carried, switch.rating)}"
    )
    figures: dict[str, Figure] = {
        "component": switch.code,
        "running": computed(carried.running, "current"),
        "starting": computed(carried.starting, "current"),
        "rated_current": computed(printed, "current"),
        "share": computed(carried.share, "fraction"),
    }
    if carried.over:
        yield stop(
            "switch_over_rating",
            f"{said}: {percent(carried.share)} of what it may carry.",
            advice="Do not leave it under this load, and do not just replace it: fit a switch or contactor rated for "
            "the motors behind it, re-terminate the conductors, and find out why the currents are what they are.",
            **figures,
        )
    elif above(carried.share, NEARLY):
        yield note("switch_near_rating", f"{said}: {percent(carried.share)} of it.", advice=SPARE, **figures)
    elif found.read and not found.unknown:
        yield fine("switch_load_good", f"{said}: {percent(carried.share)} of it.", **figures)


SPARE = "Check its terminals for heat and its voltage drop, and plan for a larger rating when it is next replaced."


def _carried(found: Through, printed: float, rating: str | None) -> SwitchLoad:
    """The load by the kind of rating; where that is not recorded, by the printed amperes alone."""
    if rating is not None:
        return switch_load(found.motors, rated_current=printed, rating=rating, others=found.others)
    by_print = switch_load(found.motors, rated_current=printed, rating="motor", others=found.others)
    return replace(by_print, motor_limit=printed, share=by_print.running / printed)


def _allowed(e: Evidence, printed: float, carried: SwitchLoad, rating: str | None) -> str:
    if rating is None:
        return f"{e.show(printed, 'current')} is printed on it"
    limit = e.show(carried.motor_limit, "current")
    return f"at {e.show(printed, 'current')}, {RATING_WORDS[rating]}, it may carry {limit} of motors"


RULES = (
    Rule(
        codes=("switch_over_rating", "switch_near_rating", "switch_load_good"),
        needs=(FED, BEHIND),
        judge=_loads,
        tells="whether a switch carries more than it may",
        source="NEC (NFPA 70) 404.14, 430.83, 430.109, 430.110 and 210.20(A), UL 982, as quoted in UL's guide "
        "information and examination banks; the maker's own motor rating rules where there is one",
        caution=f"{LOCKOUT} {CAPACITORS} {LICENSED}",
        asked_by=ELECTRICAL,
        weight=1.2,
    ),
)
