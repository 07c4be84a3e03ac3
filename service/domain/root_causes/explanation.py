"""A root cause in plain sentences, each built from its numbers."""

from collections.abc import Sequence
from datetime import date

from service.domain.root_causes.attribution import Attribution
from service.domain.root_causes.causes import BY_CODE, causes_of
from service.domain.root_causes.failures import YEAR, positions_of
from service.domain.root_causes.found import CauseShare
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.sequences import WINDOW, Followed
from service.domain.statistics.scan import varied_scan_probability

UNITS = {
    "current": "A", "voltage": "V", "fraction": "%",
    "mass_fraction": "mass%", "volume_fraction": "vol%", "brix": "Brix",
}  # fmt: skip
SHOWN_FROM = 0.02
RAREST = 1e-6  # the model is not good enough to separate rarer events
PRESENT = 0.5  # a score from here on counts as present in the sentence


def others(shares: Sequence[CauseShare], chance: float) -> tuple[str, ...]:
    """The other explanations, chance first, as text with their share."""
    less = [s for s in shares[1:] if s.probability >= SHOWN_FROM]
    return (
        f"chance ({_percent(chance)})",
        *(f"{BY_CODE[s.cause].sentence} ({_percent(s.probability)})" for s in less),
    )


def sentences(found: Attribution, expected: float, preceding: Sequence[Followed]) -> str:
    """A few sentences: how often and how probable by chance, the cause, when it was present, what to expect."""
    last = [] if found.history.retired else [_expected(found, expected)]
    return " ".join(
        [
            _counted(found),
            _likeliest(found),
            *_at_failures(found),
            *_sequences(found, preceding),
            *last,
            *_remarks(found),
        ]
    )


def _counted(found: Attribution) -> str:
    failures = found.failures
    days = (failures.events[-1].on - failures.events[0].on).days + 1
    chance = chance_of_so_many(found, days / YEAR)
    share = f"about 1 in {_rounded(1 / chance)}" if chance > RAREST else f"fewer than 1 in {1 / RAREST:.0f}"
    return (
        f"{_name(failures.kind).capitalize()}: {len(failures.events)} failures within {_span(days)}. "
        f"By chance, {share} such units would show as many so close together."
    )


def chance_of_so_many(found: Attribution, window: float) -> float:
    """The probability of so many failures of the kind in some window [years] of the history, by chance alone."""
    positions = positions_of(found.history, found.failures.kind)
    return varied_scan_probability(
        len(found.failures.events),
        rate=found.setting.rate * positions,
        window=window,
        watched=max(found.failures.years / positions, window),
        shape=found.setting.shape,
    )


def _likeliest(found: Attribution) -> str:
    best, share, chance = found.best.sentence, _percent(found.shares[0].probability), _percent(found.chance)
    if found.chance > found.shares[0].probability:
        return f"Chance is more probable than any one cause ({chance}). Next: {best} ({share})."
    return f"Most probable cause: {best} ({share}; chance {chance})."


def _expected(found: Attribution, expected: float) -> str:
    condition = "Without action" if found.view is None else "With this cause removed"
    return f"{condition}, expect about {expected:.1f} failures in the next year."


def _rounded(number: float) -> str:
    """Two digits: more would claim to be known."""
    return f"{float(f'{number:.2g}'):.0f}"


def _span(days: int) -> str:
    months = round(days / YEAR * 12)
    return f"{days} days" if months < 2 else f"{months} months"


def _at_failures(found: Attribution) -> list[str]:
    if found.view is None or found.exposed_share is None:
        return []
    present = sum(score >= PRESENT for score in found.failures.scores[found.view])
    share = f"{100 * found.exposed_share:.0f} % of the time"
    return [f"This was so at {present} of {len(found.failures.events)} failures, and {share}."]


def _sequences(found: Attribution, preceding: Sequence[Followed]) -> list[str]:
    count = len(found.failures.events)
    return [
        f"{sum(each.sequence == sequence for each in preceding)} of {count} failures came within {WINDOW} days after a "
        f"{_name(sequence.after)} failure, in this fleet {sequence.ratio:.1f} times as often as by chance."
        for sequence in dict.fromkeys(each.sequence for each in preceding if each.sequence)
    ]


def days_after(each: Followed) -> str:
    """Which part failed so many days before."""
    return f"{_name(each.before.kind)}, {each.days} days before"


def _name(kind: str) -> str:
    return kind.replace("_", " ")


def _remarks(found: Attribution) -> list[str]:
    failures, history = found.failures, found.history
    remarks = []
    if reported := sum(e.evidence == "reported" or e.by == "others" for e in failures.events):
        remarks.append(f"{_counted_as(reported, 'failure')} reported, not seen by us: weighted less.")
    if found.best.tasks and not any(t.task in found.best.tasks and t.result == "done" for t in history.performed):
        remarks.append(f"No cleaning recorded since {history.start}: assumed not done.")
    if history.retired:
        remarks.append(f"Unit retired on {history.end}.")
    if history.before_installation:
        remarks.append("Records begin before the installation date: one of the dates is wrong.")
    if failures.left_out:
        remarks.append(
            f"{_counted_as(failures.left_out, 'replacement')} dated outside the unit's history: not counted."
        )
    return remarks


def _counted_as(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def _percent(share: float) -> str:
    if 0.0 < share < 0.005:
        return "under 1 %"
    if 0.995 <= share < 1.0:
        return "over 99 %"
    return f"{100 * share:.0f} %"


def readings_before(history: FailureHistory, kind: str, *, component: str, day: date) -> dict[str, str]:
    """The latest findings up to a day that bear on a cause: by quantity and component, or by task.

    Of components only the failed one and those it feeds.
    """
    causes = causes_of(kind)
    wanted = {quantity for cause in causes for quantity in cause.reads}
    near = {None, component, *(fed for part in history.components if part.code == component for fed in part.feeds)}
    latest: dict[str, tuple[date, str]] = {}
    for taken in history.readings:
        read = taken.reading
        name = read.quantity if read.component is None else f"{read.quantity} {read.component}"
        wanted_here = taken.as_found and taken.on <= day and read.quantity in wanted and read.component in near
        if wanted_here and (name not in latest or latest[name][0] <= taken.on):
            latest[name] = (taken.on, f"{_shown(read.value.value, read.value.dimension)} on {taken.on.isoformat()}")
    for t in history.performed:
        if t.result == "done" and t.on <= day and any(t.task in cause.tasks for cause in causes):
            found = f", found {t.as_found}" if t.as_found else ""
            latest[t.task] = (t.on, f"{(day - t.on).days} days before{found}")
    return {name: text for name, (_, text) in sorted(latest.items())}


def _shown(value: float, dimension: str) -> str:
    if dimension == "temperature":
        return f"{value - 273.15:.1f} degC ({1.8 * (value - 273.15) + 32:.0f} degF)"
    scaled = 100.0 * value if "fraction" in dimension else value
    return f"{scaled:.3g} {UNITS[dimension]}"
