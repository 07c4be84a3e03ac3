"""Views of the exposure to a cause, as values: what is looked at, where the harm begins and where it is full.

The limits come from the trade or are judged, as the source of each cause says.
"""

from collections.abc import Callable
from dataclasses import dataclass

from service.domain.physics.electrical.switch_load import MOTOR_SHARE
from service.domain.record.fleet import Component
from service.domain.root_causes import exposure
from service.domain.root_causes.exposure import Track, ramp
from service.domain.root_causes.history import FailureHistory, si

CLEANINGS = ("condenser_clean", "condenser_deep_clean")
STRAINER_CLEANINGS = ("strainer_clean",)
USUAL_STRENGTH = 0.35  # mass fraction wanted where none is recorded
FOULED_CURRENT = 0.22  # what a condenser fouled by the clock adds to the current, judged
OTHER_SHARE = 0.8  # of the rating, for a kind of rating without a share of its own


@dataclass(frozen=True, slots=True)
class View:
    """One view of a cause: `exposure` is a function of a history, a component kind and the `limits`."""

    exposure: Callable[..., Track]
    limits: tuple[float, ...]

    def track(self, history: FailureHistory, kind: str) -> Track:
        """The exposure of a unit over time."""
        return self.exposure(history, kind, *self.limits)


def since_condenser_cleaned(history: FailureHistory, _kind: str, none: int, full: int) -> Track:
    """Days since the condenser was cleaned, corrected by how it was found."""
    return exposure.since_cleaning(history, CLEANINGS, none=none, full=full)


def since_strainer_cleaned(history: FailureHistory, _kind: str, none: int, full: int) -> Track:
    """Days since the strainer was cleaned, where a finding was ever recorded."""
    if not any(task.task in STRAINER_CLEANINGS and task.as_found for task in history.performed):
        return exposure.NOTHING
    return exposure.since_cleaning(history, STRAINER_CLEANINGS, none=none, full=full)


def switch_load(history: FailureHistory, kind: str, none: float, full: float) -> Track:
    """The current through a switch over what it may carry: the median of the readings, else the nameplates'."""
    loads = [_load(history, part) for part in history.components if part.kind == kind]
    known = [load for load in loads if load]
    return exposure.constant(ramp(max(known), none=none, full=full), history) if known else exposure.NOTHING


def _load(history: FailureHistory, switch: Component) -> float | None:
    rated = si(switch.rated_current, "current")
    if not rated:
        return None
    limit = MOTOR_SHARE.get(switch.rating or "ac_only", OTHER_SHARE) * rated
    read = _clean_median(history, switch.code)
    if read is not None:
        return read / limit
    fed = [other for other in history.components if other.code in switch.feeds]
    each = [_clean_median(history, other.code) or si(other.rated_current, "current") for other in fed]
    return sum(current for current in each if current) / limit if fed and all(each) else None


def _clean_median(history: FailureHistory, code: str) -> float | None:
    """The median current, without what a fouled condenser adds, which belongs to that cause and not to the rating."""
    read = [
        taken
        for taken in history.readings
        if (taken.reading.quantity, taken.reading.component) == ("current", code) and taken.as_found
    ]
    if not read:
        return None
    fouled = CONDENSER.track(history, "")
    clean = sorted(
        taken.reading.value.value / (1.0 + FOULED_CURRENT * exposure.at(fouled, taken.on.toordinal())) for taken in read
    )
    return clean[len(clean) // 2]


def supply_voltage(history: FailureHistory, _kind: str, none: float, full: float) -> Track:
    """The supply's voltage over the nameplate's."""
    volts = history.supply_voltage
    return exposure.scored(history, "supply_voltage", none=none * volts, full=full * volts) if volts else ()


def contact_drop(history: FailureHistory, kind: str, none: float, full: float) -> Track:
    """Volts across a closed contact or lug of such a part.

    Not as read on the day of its replacement: across a burnt contact the drop is a consequence.
    """
    own = {part.code for part in history.components if part.kind == kind}
    replaced = {(part.component, part.on) for part in history.replaced}
    drops = (
        taken for taken in history.readings
        if taken.reading.quantity == "contact_voltage_drop"
        and taken.reading.component in own
        and (taken.reading.component, taken.on) not in replaced
    )  # fmt: skip
    return exposure.of_readings((taken, ramp(taken.reading.value.value, none=none, full=full)) for taken in drops)


def strength(history: FailureHistory, _kind: str, none: float, full: float) -> Track:
    """The glycol's strength as mass fraction, whatever strength is wanted."""
    return exposure.strength_track(history, none=none, full=full)


def strength_off_target(history: FailureHistory, _kind: str, none: float, full: float) -> Track:
    """The glycol's strength less the strength wanted."""
    wanted = history.target_strength or USUAL_STRENGTH
    return exposure.strength_track(history, none=wanted + none, full=wanted + full)


def bath_level(history: FailureHistory, _kind: str, none: float, full: float) -> Track:
    """The bath's level as a share of full."""
    return exposure.scored(history, "bath_level", none=none, full=full)


def ambient(history: FailureHistory, _kind: str, none: float, full: float) -> Track:
    """The temperature around the unit [K]."""
    return exposure.scored(history, "ambient_temperature", none=none, full=full)


def after_another_kind(history: FailureHistory, kind: str, days: int) -> Track:
    """So many days after a part of another kind was replaced in the unit."""
    return exposure.windows((part.on.toordinal() for part in history.replaced if part.kind != kind), days)


def after_the_same_kind(history: FailureHistory, kind: str, days: int) -> Track:
    """So many days after a part of the same kind was replaced."""
    return exposure.windows((part.on.toordinal() for part in history.replaced if part.kind == kind), days)


CONDENSER_EARLY = View(since_condenser_cleaned, (45, 135))  # as in a greasy kitchen
CONDENSER = View(since_condenser_cleaned, (90, 180))
CONDENSER_LATE = View(since_condenser_cleaned, (120, 270))
STRAINER = View(since_strainer_cleaned, (180, 360))
OVERLOAD = View(switch_load, (0.98, 1.13))
LOW_VOLTAGE = View(supply_voltage, (0.94, 0.88))
LOOSE = View(contact_drop, (0.1, 0.5))
WEAK = View(strength_off_target, (-0.07, -0.13))
SLUSH = View(strength, (0.27, 0.21))
STRONG = View(strength_off_target, (0.07, 0.15))
LOW_BATH = View(bath_level, (0.85, 0.70))
HOT_PLACE = View(ambient, (308.15, 319.15))
REPAIRED = View(after_another_kind, (30,))
NEW_PART = View(after_the_same_kind, (60,))
