"""What was found before a failure that bears on its causes, as text."""

from datetime import date

from service.domain.record.feeds import loads_behind
from service.domain.record.unit_log import Performed, ReadingTaken
from service.domain.record.visits import FOULING
from service.domain.root_causes.causes import Cause, causes_of
from service.domain.root_causes.history import FailureHistory, si
from service.domain.root_causes.presence import LOADS_OF

UNITS = {
    "current": "A", "voltage": "V", "fraction": "%",
    "mass_fraction": "mass%", "volume_fraction": "vol%", "brix": "Brix",
}  # fmt: skip
RATED = {None: "", "motor": ", motor-rated", "ac_only": ", AC only", "resistive": ", resistive loads"}


def readings_before(history: FailureHistory, kind: str, *, component: str, day: date) -> dict[str, str]:
    """The latest findings up to a day that bear on a cause: by quantity and component, or by task.

    Of a cleaning also how the next one found it: that is how it was at the failure, or soon after.

    Of components only the failed one and the loads behind it.
    """
    causes = causes_of(kind)
    wanted = {quantity for cause in causes for quantity in cause.reads}
    bearing = {task for cause in causes for task in cause.tasks}
    near = {None, component, *loads_of(history, component)}
    latest: dict[tuple[str, str | None], ReadingTaken] = {}
    for taken in history.readings:
        read = taken.reading
        if read.quantity in wanted and read.component in near and taken.as_found and taken.on <= day:
            known = latest.get((read.quantity, read.component))
            if known is None or known.on <= taken.on:
                latest[read.quantity, read.component] = taken
    found = {" ".join(filter(None, name)): _read(taken) for name, taken in latest.items()}
    done = {
        t.task: t for t in history.performed if t.task in bearing and (t.result == "done" or t.as_found) and t.on <= day
    }
    after = {t.task: t for t in reversed(history.performed) if t.task in done and t.as_found and t.on > day}
    work = {task: _work(t, (day - t.on).days, after.get(task)) for task, t in done.items()}
    return dict(sorted((found | work).items()))


def _by_plate(history: FailureHistory, switch: str, loads: set[str]) -> str | None:
    """What a switch's loads carry together by their nameplates, which stand in where no current was read."""
    read = {taken.reading.component for taken in history.readings if taken.reading.quantity == "current"}
    amps = [si(history.parts[load].rated_current, "current") for load in loads]
    known = [each for each in amps if each]
    if not known or len(known) < len(amps) or read & {switch, *loads}:
        return None
    return f"{sum(known):.3g} A by their nameplates"


def loads_of(history: FailureHistory, component: str | None) -> set[str]:
    """The loads behind a component, by which its own is known where its current was not read."""
    parts = history.parts
    return {load.code for load in loads_behind(parts, parts[component])} if component in parts else set()


def not_done(history: FailureHistory, cause: Cause, day: date) -> dict[str, str | int]:
    """How often a cause's work was not done for a reason between its last time before a day and that day."""
    own = [each for each in history.performed if each.task in cause.tasks and each.on <= day and each.by == "us"]
    last = max((each.on for each in own if each.result == "done" and each.on < day), default=history.start)
    kept = [each for each in own if each.result == "not_done" and each.reason and each.on > last]
    if not kept:
        return {}
    days = {each.on for each in kept}
    return {"not_done": len(days), "not_done_last": max(days).isoformat(), "not_done_why": kept[-1].reason or ""}


def _read(taken: ReadingTaken) -> str:
    value = taken.reading.value
    return f"{_shown(value.value, value.dimension)} on {taken.on.isoformat()}"


def _work(task: Performed, days: int, following: Performed | None) -> str:
    before = f", {days} {'day' if days == 1 else 'days'} before" if days else ""
    found = f", found {FOULING[task.as_found]}" if task.as_found else ""
    then = f", next found {FOULING[following.as_found or '']} on {following.on.isoformat()}" if following else ""
    return f"{task.result.replace('_', ' ')} on {task.on.isoformat()}{before}{found}{then}"


def _shown(value: float, dimension: str) -> str:
    if dimension == "temperature":
        return f"{value - 273.15:.1f} degC ({1.8 * (value - 273.15) + 32:.0f} degF)"
    scaled = 100.0 * value if "fraction" in dimension else value
    return f"{scaled:.3g} {UNITS[dimension]}"


def nameplates(history: FailureHistory, cause: Cause, components: set[str]) -> dict[str, str]:
    """What the readings of a cause are measured against: ratings of these components, the supply, the target."""
    plates: dict[str, str] = {}
    if "current" in cause.reads and cause.code == "switch_undersized":
        rated = ((part, si(part.rated_current, "current")) for part in history.components if part.code in components)
        plates |= {part.code: f"{amps:.3g} A{RATED[part.rating]}" for part, amps in rated if amps}
        fed = {code: loads_of(history, code) for code in sorted(components)}
        shown = {code: loads for code, loads in fed.items() if len(loads) > 1 or not loads <= components}
        plates |= {
            f"{LOADS_OF}{code}": total for code, loads in shown.items() if (total := _by_plate(history, code, loads))
        }
    if "supply_voltage" in cause.reads and history.volts:
        plates["supply"] = f"{history.volts:.3g} V{'' if history.supply_voltage else ' by its readings, not recorded'}"
    if "glycol_strength" in cause.reads and history.target_strength:
        plates["target"] = f"{100 * history.target_strength:.3g} mass%"
    return plates
