"""A case in plain sentences, each built from its numbers."""

from collections.abc import Sequence
from datetime import date

from service.domain.root_causes.candidate import CauseShare
from service.domain.root_causes.case import Case
from service.domain.root_causes.causes import BY_CODE, causes_of
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.sequences import WINDOW, Followed
from service.domain.root_causes.statistics import YEAR, places_of
from service.domain.statistics.scan import varied_scan_probability

UNITS = {
    "current": "A", "voltage": "V", "fraction": "%",
    "mass_fraction": "mass%", "volume_fraction": "vol%", "brix": "Brix",
}  # fmt: skip
WORTH_TELLING = 0.02
RAREST = 1e-6  # the model is not good enough to tell rarer things apart
PRESENT = 0.5  # a score from here on counts as present in the sentence


def others(shares: Sequence[CauseShare], luck: float) -> tuple[str, ...]:
    """What else it could be, luck first, as words with their share."""
    told = [f"{BY_CODE[s.cause].sentence} ({_in_100(s.probability)})" for s in shares[1:]
            if s.probability >= WORTH_TELLING]  # fmt: skip
    return (f"luck ({_in_100(luck)})", *told)


def sentences(case: Case, expected: float, soon_after: Sequence[Followed]) -> str:
    """A few sentences: how often and how likely by luck, the cause, when it came, what is to be expected."""
    last = [] if case.history.retired else [_expected(case, expected)]
    told = [
        _counted(case),
        _likeliest(case),
        *_at_failures(case),
        *_sequences(case, soon_after),
        *last,
        *_remarks(case),
    ]
    return " ".join(told)


def _counted(case: Case) -> str:
    pair = case.pair
    days = (pair.events[-1].on - pair.events[0].on).days + 1
    chance = luck_of_so_many(case, days / YEAR)
    name = _name(pair.kind).capitalize()
    units = f"about 1 in {_rounded(1 / chance)} units" if chance > RAREST else f"fewer than 1 in {1 / RAREST:.0f} units"
    return (
        f"{name} failed {len(pair.events)} times within {_span(days)}; "
        f"by luck {units} like this shows as many so close together."
    )


def luck_of_so_many(case: Case, window: float) -> float:
    """The chance of so many failures of all the unit's places in some window [years] of its history, by luck alone."""
    places = places_of(case.history, case.pair.kind)
    return varied_scan_probability(
        len(case.pair.events),
        rate=case.setting.rate * places,
        window=window,
        watched=max(case.pair.years / places, window),
        shape=case.setting.shape,
    )


def _likeliest(case: Case) -> str:
    best, share, luck = case.best.sentence, _in_100(case.shares[0].probability), _in_100(case.luck)
    if case.luck > case.shares[0].probability:
        return f"Luck is likelier than any one cause ({luck}); next comes: {best} ({share})."
    return f"Most probable: {best} ({share}; luck {luck})."


def _expected(case: Case, expected: float) -> str:
    after = "If nothing is done" if case.view is None else "If that is the cause and it is put right"
    return f"{after}, expect about {expected:.1f} failures in the next year."


def _rounded(number: float) -> str:
    """Two digits: more would claim to be known."""
    return f"{float(f'{number:.2g}'):.0f}"


def _span(days: int) -> str:
    months = round(days / YEAR * 12)
    return f"{days} days" if months < 2 else f"{months} months"


def _at_failures(case: Case) -> list[str]:
    if case.view is None or case.exposed_share is None:
        return []
    present = sum(score >= PRESENT for score in case.pair.scores[case.view])
    share = f"{100 * case.exposed_share:.0f} % of the time"
    return [f"{present} of {len(case.pair.events)} failures came while that was so; it was so {share}."]


def _sequences(case: Case, soon_after: Sequence[Followed]) -> list[str]:
    told = []
    for sequence in dict.fromkeys(each.sequence for each in soon_after if each.sequence):
        own = sum(each.sequence == sequence for each in soon_after)
        told.append(
            f"{own} of {len(case.pair.events)} came within {WINDOW} days after a {_name(sequence.after)} failed, "
            f"which in this fleet happens {sequence.ratio:.1f} times as often as by chance."
        )
    return told


def days_after(each: Followed) -> str:
    """Which part failed so many days before."""
    return f"{_name(each.before.kind)}, {each.days} days before"


def _name(kind: str) -> str:
    return kind.replace("_", " ")


def _remarks(case: Case) -> list[str]:
    pair = case.pair
    reported = sum(e.evidence == "reported" or e.by == "others" for e in pair.events)
    told = [f"{reported} of the failures reported, not seen, and counted for less."] if reported else []
    if case.best.tasks and not any(t.task in case.best.tasks and t.result == "done" for t in case.history.performed):
        told.append(f"No cleaning is on record since {case.history.start}: it is taken as not done.")
    if case.history.retired:
        told.append(f"The unit is retired since {case.history.end}.")
    if case.history.before_installation:
        told.append("The record begins before the unit's installation date: one of the dates is wrong.")
    if pair.left_out:
        told.append(f"{pair.left_out} dated outside the unit's history, not counted.")
    return told


def _in_100(share: float) -> str:
    if 0.0 < share < 0.005:
        return "under 1 in 100"
    if 0.995 <= share < 1.0:
        return "over 99 in 100"
    return f"{100 * share:.0f} in 100"


def readings_before(history: FailureHistory, kind: str, *, component: str, day: date) -> dict[str, str]:
    """What was found last up to a day, of all that tells of a cause: by quantity and component, or by task.

    Of components only the failed one and what it feeds.
    """
    causes = causes_of(kind)
    wanted = {quantity for cause in causes for quantity in cause.reads}
    near = {None, component, *(fed for place in history.components if place.code == component for fed in place.feeds)}
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
