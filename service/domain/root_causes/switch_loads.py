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
USUAL_RATING = 20.0  # A: the larger of the two most common ones, 15 and 20, where none is recorded: common practice
NO_PLATE = 0.45  # how sure an overload of it is, less than makes a fault measured, for the switch may be larger: judged
SURELY_OVER = 1.057  # of a rating: half way to it is more than a clamp meter of 3 % leaves in doubt, 95 times in 100


def feeds_others_alone(history: FailureHistory, code: str | None) -> bool:
    """Whether a switch is known to feed loads, and no compressor among them."""
    parts = history.parts
    loads = () if code is None or code not in parts else loads_behind(parts, parts[code])
    return bool(loads) and all(load.kind != "compressor" for load in loads)


def without_plate(history: FailureHistory, code: str) -> bool:
    """Whether nobody recorded what a component may carry."""
    part = history.parts.get(code)
    return part is not None and si(part.rated_current, "current") is None


def switch_load(history: FailureHistory, kind: str, code: str | None, none: float, full: float) -> Track:
    """The current through a switch over what it may carry: the median of the readings, else the nameplates'.

    One whose rating nobody recorded may be too small: that is neutral and no sign that it is not.
    """
    own = [part for part in history.components if code in (None, part.code) and part.kind == kind]
    if any(si(part.rated_current, "current") is None for part in own):
        return exposure.constant(1.0, history)
    known = [load for part in own if (load := load_of(history, part))]
    return exposure.constant(ramp(max(known), none=none, full=full), history) if known else exposure.NOTHING


def surely_over_rating(history: FailureHistory, kind: str, code: str | None) -> Track:
    """Whether a switch carries more than it may, from not at all to surely; of an unknown rating, more than is printed.

    As the finding on a visit's currents has it. Of one without a plate it is as sure as `NO_PLATE`, at most.
    """
    parts = [part for part in history.components if code in (None, part.code) and part.kind == kind]
    most = max((_sureness(history, part) for part in parts), default=0.0)
    return exposure.constant(most, history) if most else exposure.NOTHING


def _sureness(history: FailureHistory, part: Component) -> float:
    plate = si(part.rated_current, "current") is not None
    load = load_of(history, part, MOTOR_SHARE.get(part.rating or "", 1.0 if plate else OTHER_SHARE)) or 0.0
    return (1.0 if plate else NO_PLATE) * ramp(load, none=1.0, full=SURELY_OVER)


def load_of(history: FailureHistory, switch: Component, share: float | None = None) -> float | None:
    """The current through a switch over the motor current that it may carry, None where it is not known.

    That is a `share` of its rating, by the kind of rating where none is given; of the usual one without a plate.
    """
    rated = si(switch.rated_current, "current") or USUAL_RATING
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
