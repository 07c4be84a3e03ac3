"""How far a switch is loaded, and whether that is surely more than it may carry."""

from service.domain.physics.electrical.switch_load import MOTOR_SHARE
from service.domain.record.feeds import loads_behind
from service.domain.record.fleet import Component
from service.domain.root_causes import exposure
from service.domain.root_causes.exposure import Track, ramp
from service.domain.root_causes.history import FailureHistory, si

CLEANINGS = ("condenser_clean", "condenser_deep_clean")
USUAL_CLEANING = (90, 180)  # days after a cleaning from which a condenser is fouled, and in full; judged
FOULED_CURRENT = 0.22  # what a condenser fouled by the clock adds to the current, judged
OTHER_SHARE = 0.8  # of the rating, for a kind of rating without a share of its own
SURELY_OVER = 1.057  # of a rating: half way to it is more than a clamp meter of 3 % leaves in doubt, 95 times in 100


def feeds_others_alone(history: FailureHistory, code: str | None) -> bool:
    """Whether a switch is known to feed loads, and no compressor among them."""
    parts = history.parts
    loads = () if code is None or code not in parts else loads_behind(parts, parts[code])
    return bool(loads) and all(load.kind != "compressor" for load in loads)


def switch_load(history: FailureHistory, kind: str, code: str | None, none: float, full: float) -> Track:
    """The current through a switch over what it may carry: the median of the readings, else the nameplates'."""
    loads = [load_of(history, part) for part in history.components if code in (None, part.code) and part.kind == kind]
    known = [load for load in loads if load]
    return exposure.constant(ramp(max(known), none=none, full=full), history) if known else exposure.NOTHING


def surely_over_rating(history: FailureHistory, kind: str, code: str | None) -> Track:
    """Whether a switch carries more than it may, from not at all to surely; of an unknown rating, more than is printed.

    As the finding on a visit's currents has it.
    """
    parts = [part for part in history.components if code in (None, part.code) and part.kind == kind]
    loads = [load_of(history, part, MOTOR_SHARE.get(part.rating or "", 1.0)) for part in parts]
    most = max((load for load in loads if load), default=0.0)
    return exposure.constant(ramp(most, none=1.0, full=SURELY_OVER), history) if most else exposure.NOTHING


def load_of(history: FailureHistory, switch: Component, share: float | None = None) -> float | None:
    """The current through a switch over the motor current that it may carry, None where it is not known.

    That is a `share` of its rating, by the kind of rating where none is given.
    """
    rated = si(switch.rated_current, "current")
    if not rated:
        return None
    limit = (share or MOTOR_SHARE.get(switch.rating or "ac_only", OTHER_SHARE)) * rated
    read = _clean_median(history, switch.code)
    if read is not None:
        return read / limit
    fed = loads_behind(history.parts, switch)
    each = [_clean_median(history, other.code) or si(other.rated_current, "current") for other in fed]
    return sum(current for current in each if current) / limit if fed and all(each) else None


def _clean_median(history: FailureHistory, code: str) -> float | None:
    """The median current, without what a fouled condenser adds, which belongs to that cause and not to the rating.

    Light fouling is how a condenser usually is: what the switch carries then it carries every day.
    """
    read = [
        taken
        for taken in history.readings
        if taken.reading.quantity == "current" and taken.reading.component == code and taken.as_found
    ]
    if not read:
        return None
    none, full = USUAL_CLEANING
    fouled, light = exposure.since_cleaning(history, CLEANINGS, none=none, full=full), exposure.FOUND["light"]
    beyond = [ramp(exposure.at(fouled, taken.on.toordinal()), none=light, full=1.0) for taken in read]
    clean = sorted(
        taken.reading.value.value / (1.0 + FOULED_CURRENT * more) for taken, more in zip(read, beyond, strict=True)
    )
    return clean[len(clean) // 2]
