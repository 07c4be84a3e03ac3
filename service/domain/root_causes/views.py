"""Views of the exposure to a cause, as values: what is looked at, where the harm begins and where it is full.

The limits come from the trade or are judged, as the source of each cause says.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from service.domain.record.failed import is_failure
from service.domain.record.unit_log import ReadingTaken
from service.domain.root_causes import exposure
from service.domain.root_causes.exposure import Track, ramp
from service.domain.root_causes.history import FailureHistory, last_day
from service.domain.root_causes.sound_readings import by_trouble, sound, sound_or_all
from service.domain.root_causes.switch_loads import (
    CLEANINGS,
    USUAL_CLEANING,
    feeds_others_alone,
    surely_over_rating,
    switch_load,
)

STRAINER_CLEANINGS = ("strainer_clean",)
USUAL_STRENGTH = 0.35  # mass fraction wanted where none is recorded
AIR, AIR_IN = "ambient_temperature", "condenser_air_in_temperature"
OVER_AIR = 25.0  # K: NETA MTS table 100.18, over 40 K above the air a major deficiency, that is 15 K above this
USUAL_TERMINAL = 333.15  # K: what the terminals of many switches bear, 60 degC (UL 489), where nothing else was read
PLAIN = 0.8  # how far a fault is measured that is no gross one: judged
BY_TROUBLE = 0.1  # how far a fault is measured by readings that the failure itself may have made: judged
LOADED = ("power_switch", "contactor")  # kinds that a fouled condenser harms most by the compressor's current
BESIDE = 0.5  # how far it harms one that carries none of it, by its hot air: judged


@dataclass(frozen=True, slots=True)
class View:
    """One view of a cause: `exposure` is a function of a history, a component kind, a component and the `limits`.

    `of` says to what it belongs: the unit, a kind, a position (the component), or a part: then the time is that of the
    kind, and a failure's score that of its position. What is of the compressor is the unit's, and half of it for a
    switch that feeds other loads alone. `measured` says what of it somebody measured: its readings, the
    grades found, or nothing. Where `gross` is given, what was read is measured in full from there on, and by `PLAIN`
    where the harm is full, or where it is `sure` that there is any. `quantity` is what is read, where a failure may
    have made the reading.
    """

    exposure: Callable[..., Track]
    limits: tuple[float, ...]
    of: str = "unit"
    measured: str = "readings"
    gross: float | None = None
    sure: Callable[..., Track] | None = None
    quantity: str = ""

    def by_position(self, kind: str) -> bool:
        """Whether the positions of a kind may be exposed differently."""
        return self.of == "position" or (self.of == "compressor" and kind in LOADED)

    def place(self, kind: str, component: str | None) -> str | None:
        """The component whose score is that of a failure; None where all of the kind have one."""
        return component if self.of == "part" or self.by_position(kind) else None

    def track(self, history: FailureHistory, kind: str, component: str | None = None) -> Track:
        """The exposure over time of a component, or of all of a kind together."""
        return self.exposure(history, kind, component, *self.limits)

    def measured_level(self, history: FailureHistory, track: Track, kind: str, component: str | None) -> float:
        """How far the exposure was ever measured, from 0 to 1; 0 where it follows from days alone.

        Of grades only the gravest: heavily fouled is what a cleaning that is due finds.
        """
        if self.measured == "readings":
            share = BY_TROUBLE if self.by_trouble(history, kind, component) else 1.0
            return share * self._level_read(history, track, kind, component)
        if self.measured == "grades":
            tasks = CLEANINGS if self.exposure is since_condenser_cleaned else STRAINER_CLEANINGS
            grades = (exposure.FOUND.get(t.as_found or "", 0.0) for t in history.performed if t.task in tasks)
            return ramp(max(grades, default=0.0), none=exposure.FOUND["heavy"], full=1.0)
        return 0.0

    def _level_read(self, history: FailureHistory, track: Track, kind: str, component: str | None) -> float:
        plain = _highest(track if self.sure is None else self.sure(history, kind, component))
        if self.gross is None or plain < 1.0:
            return plain if self.gross is None else PLAIN * plain
        beyond = self.exposure(history, kind, component, self.limits[-1], self.gross)
        return PLAIN + (1.0 - PLAIN) * _highest(beyond)

    def by_trouble(self, history: FailureHistory, kind: str, component: str | None) -> bool:
        """Whether all readings of it are such as the failures themselves may have made."""
        return self.quantity != "" and by_trouble(history, self.quantity, _codes(history, kind, component))


def _highest(track: Track) -> float:
    return max((max(found, left) for _, found, left in track), default=0.0)


class Seen(NamedTuple):
    """An exposure over time, how far it was measured, its score summed over the history [d], whether it ever was."""

    track: Track
    measured_level: float
    area: float
    reached: bool


class Tracks:
    """The exposures of one unit, each computed once: those of the whole unit are the same for every kind."""

    def __init__(self, history: FailureHistory) -> None:
        self.history = history
        self._days = history.start.toordinal(), last_day(history)
        self._known: dict[tuple[object, ...], Seen] = {}
        self._without_compressor: dict[str | None, bool] = {}

    def of(self, view: View, kind: str, component: str | None = None) -> Track:
        """The exposure of a component, or of all of a kind together."""
        return self.seen(view, kind, component).track

    def seen(self, view: View, kind: str, component: str | None = None) -> Seen:
        """The same, with what follows from it."""
        of = view.of
        beside = of == "compressor" and self._spared(kind, component)
        own = (beside,) if of in ("unit", "compressor") else (kind,) if of == "kind" else (kind, component)
        key = (view.exposure, view.limits, *own)
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._look(view, kind, component, BESIDE if beside else 1.0)
        return found

    def _look(self, view: View, kind: str, component: str | None, share: float) -> Seen:
        track = view.track(self.history, kind, component)
        track = track if share == 1.0 else exposure.scaled(track, share)
        return Seen(
            track,
            view.measured_level(self.history, track, kind, component),
            exposure.area(track, *self._days),
            any(found or left for _, found, left in track),
        )

    def _spared(self, kind: str, component: str | None) -> bool:
        if kind not in LOADED:
            return False
        if component not in self._without_compressor:
            self._without_compressor[component] = feeds_others_alone(self.history, component)
        return self._without_compressor[component]


def since_condenser_cleaned(history: FailureHistory, _kind: str, _code: str | None, none: int, full: int) -> Track:
    """Days since the condenser was cleaned, corrected by how it was found."""
    return exposure.since_cleaning(history, CLEANINGS, none=none, full=full)


def since_strainer_cleaned(history: FailureHistory, _kind: str, _code: str | None, none: int, full: int) -> Track:
    """Days since the strainer was cleaned, where a finding was ever recorded."""
    if not any(task.task in STRAINER_CLEANINGS and task.as_found for task in history.performed):
        return exposure.NOTHING
    return exposure.since_cleaning(history, STRAINER_CLEANINGS, none=none, full=full)


def supply_voltage(history: FailureHistory, _kind: str, _code: str | None, none: float, full: float) -> Track:
    """The supply's voltage over the rated one, by the plate or as read; a motor that stalls draws it down."""
    volts = history.volts
    if not volts:
        return exposure.NOTHING
    read = sound_or_all(history, "supply_voltage", set())
    return exposure.of_readings((t, ramp(t.reading.value.value, none=none * volts, full=full * volts)) for t in read)


def contact_drop(history: FailureHistory, kind: str, code: str | None, none: float, full: float) -> Track:
    """Volts across a closed contact or lug of a component.

    Never as found on the day of the failure: across a burnt contact the drop is a consequence.
    """
    drops = sound(history, "contact_voltage_drop", _codes(history, kind, code))
    return exposure.of_readings((taken, ramp(taken.reading.value.value, none=none, full=full)) for taken in drops)


def terminal_temperature(history: FailureHistory, kind: str, code: str | None, none: float, full: float) -> Track:
    """Kelvin of a component's terminals above the coolest others of that visit, or above the air less `OVER_AIR`."""
    read = [taken for taken in history.readings if taken.reading.quantity in ("terminal_temperature", AIR)]
    hot = sound_or_all(history, "terminal_temperature", _codes(history, kind, code))
    return exposure.of_readings((taken, ramp(_above(taken, read), none=none, full=full)) for taken in hot)


def _above(taken: ReadingTaken, read: list[ReadingTaken]) -> float:
    beside = [t for t in read if (t.visit, t.on) == (taken.visit, taken.on) and t.place != taken.place]
    like = [t.reading.value.value for t in beside if t.reading.quantity != AIR]
    air = [t.reading.value.value + OVER_AIR for t in beside if t.reading.quantity == AIR]
    return max(taken.reading.value.value - cool for cool in (min(like, default=1e9), min(air, default=USUAL_TERMINAL)))


def _codes(history: FailureHistory, kind: str, code: str | None) -> set[str]:
    return {part.code for part in history.components if part.kind == kind} if code is None else {code}


def strength(history: FailureHistory, _kind: str, _code: str | None, none: float, full: float) -> Track:
    """The glycol's strength as mass fraction, whatever strength is wanted."""
    return exposure.strength_track(history, none=none, full=full)


def strength_off_target(history: FailureHistory, _kind: str, _code: str | None, none: float, full: float) -> Track:
    """The glycol's strength less the strength wanted."""
    wanted = history.target_strength or USUAL_STRENGTH
    return exposure.strength_track(history, none=wanted + none, full=wanted + full)


def bath_level(history: FailureHistory, _kind: str, _code: str | None, none: float, full: float) -> Track:
    """The bath's level as a share of full; a leaking seal empties it."""
    read = sound_or_all(history, "bath_level", set())
    return exposure.of_readings((taken, ramp(taken.reading.value.value, none=none, full=full)) for taken in read)


def ambient(history: FailureHistory, _kind: str, _code: str | None, none: float, full: float) -> Track:
    """The air around the unit or, where that is hotter, the air that its condenser draws in [K].

    Not what a fan that failed that day let come back to it.
    """
    stood = {part.on for part in history.replaced if part.kind == "condenser_fan" and is_failure(part)}
    read = [
        taken
        for taken in history.readings
        if taken.reading.quantity == AIR
        or (taken.reading.quantity == AIR_IN and not (taken.as_found and taken.on in stood))
    ]
    read.sort(key=lambda taken: taken.reading.value.value)  # of one day the hottest counts
    return exposure.of_readings((taken, ramp(taken.reading.value.value, none=none, full=full)) for taken in read)


def after_another_kind(history: FailureHistory, kind: str, _code: str | None, days: int) -> Track:
    """So many days after a part of another kind was replaced in the unit, on a day that is known."""
    others = (part for part in history.replaced if part.kind != kind and part.exact)
    return exposure.windows((part.on.toordinal() for part in others), days)


def after_the_same_kind(history: FailureHistory, kind: str, code: str | None, days: int) -> Track:
    """So many days after a part of the same kind was replaced on a known day; in one position, where one is given.

    Of all positions together it is their mean: one new switch of two is half of them.
    """
    own = [
        (part.on.toordinal(), part.component)
        for part in history.replaced
        if part.kind == kind and part.exact and code in (None, part.component)
    ]
    positions = 1 if code else sum(part.kind == kind for part in history.components)
    return exposure.windows_of_positions(own, days, positions=positions)


# as in a greasy kitchen, as usual, and late
CONDENSER_EARLY = View(since_condenser_cleaned, (45, 135), of="compressor", measured="grades")
CONDENSER = View(since_condenser_cleaned, USUAL_CLEANING, of="compressor", measured="grades")
CONDENSER_LATE = View(since_condenser_cleaned, (120, 270), of="compressor", measured="grades")
STRAINER = View(since_strainer_cleaned, (180, 360), measured="grades")
OVERLOAD = View(switch_load, (1.0, 1.15), of="position", gross=1.4, sure=surely_over_rating)
LOW_VOLTAGE = View(supply_voltage, (0.94, 0.88), quantity="supply_voltage")
HIGH_VOLTAGE = View(supply_voltage, (1.07, 1.13))
LOOSE = View(contact_drop, (0.1, 0.5), of="position", gross=1.0)
HOT_TERMINAL = View(terminal_temperature, (10.0, 25.0), of="position", gross=40.0, quantity="terminal_temperature")
WEAK = View(strength_off_target, (-0.07, -0.13))
SLUSH = View(strength, (0.27, 0.21))
STRONG = View(strength_off_target, (0.07, 0.15))
LOW_BATH = View(bath_level, (0.85, 0.70), quantity="bath_level")
HOT_PLACE = View(ambient, (308.15, 319.15))
REPAIRED = View(after_another_kind, (30,), of="kind", measured="nothing")
NEW_PART = View(after_the_same_kind, (60,), of="part", measured="nothing")
NEW_PART_LATE = View(after_the_same_kind, (150,), of="part", measured="nothing")
