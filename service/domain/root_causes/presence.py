"""At how many of the failures the most probable cause was present, and whether they went on without it."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.domain.record.visits import FOULING
from service.domain.root_causes.causes import BY_CODE, UNEXPLAINED

Facts = Mapping[str, Any]
LOADS_OF = "loads of "  # begins the name of what a part feeds, among the nameplates
PRESENT, IN_PART = 0.5, 0.1  # a score from here on counts as present, or present in part, in the sentence
GONE_ON = 2  # so many last failures without the cause, and as many as with it: look for another one
OFTEN = (
    (0.9, "nearly all of the time"), (0.6, "most of the time"), (0.42, "about half of the time"),
    (0.29, "about a third of the time"), (0.22, "about a quarter of the time"), (0.15, "about a sixth of the time"),
    (0.07, "about a tenth of the time"), (0.02, "seldom otherwise"),
)  # fmt: skip


def _levels(facts: Facts) -> list[float]:
    return [event.get("present") or 0.0 for event in facts["events"]]


def at_failures(facts: Facts) -> list[str]:
    """At how many failures it was present, wholly or in part, and how often else; nothing of an unexplained excess."""
    share = facts.get("exposed_share")
    if share is None or rating_unknown(facts):
        return []
    levels = _levels(facts)
    present, partly = sum(each >= PRESENT for each in levels), sum(IN_PART <= each < PRESENT for each in levels)
    if partly and not present:  # the share of the time counts a part as a part, and would read as a time without it
        return [f"Present in part at {partly} of {len(levels)} failures."]
    views = BY_CODE.get(facts["causes"][0]["cause"], UNEXPLAINED).views
    all_places = ", all positions taken together" if any(view.of == "position" for view in views) else ""
    in_part = f", in part at {partly}" if partly else ""
    return [f"Present at {present} of {len(levels)} failures{in_part}, and {_how_often(share)}{all_places}."]


def last_without(levels: Sequence[float]) -> int:
    """How many of the last failures came without a cause, once they are as many as those with it.

    `levels` are how far it was present at each failure.

    >>> last_without([1.0, 1.0, 0.0, 0.0]), last_without([1.0, 1.0, 1.0, 0.0, 0.0])
    (2, 0)
    """
    last = next((n for n, each in enumerate(reversed(levels)) if each >= IN_PART), len(levels))
    return last if last >= max(GONE_ON, len(levels) - last) else 0


def found_fouled(facts: Facts) -> bool:
    """Whether before or soon after any of the failures something was found heavily fouled or blocked."""
    grades = [FOULING[grade] for grade in ("heavy", "blocked")]
    texts = [text for event in facts["events"] for text in event.get("readings_before", {}).values()]
    return any(f"found {grade}" in text for text in texts for grade in grades)


def rating_unknown(facts: Facts) -> bool:
    """Whether an overload is assumed: of no part that failed is it recorded what it may carry, whatever it feeds."""
    first = facts["causes"][0]
    rated = any(not name.startswith(LOADS_OF) for name in facts.get("nameplates", ()))
    return first["cause"] == "switch_undersized" and not (first.get("measured") or rated)


def went_on(facts: Facts, sentence: str) -> list[str]:
    """That the parts failed on after a cause had gone, where they did."""
    last = facts["remarks"].get("last_without")
    if not last:
        return []
    return [f"{len(facts['events']) - last} came while this was so: {sentence}. The last {last} came without it."]


def _how_often(share: float) -> str:
    """How much of the time watched, in words: a number beside the probability of chance would be a second scale.

    >>> _how_often(0.95), _how_often(0.5), _how_often(0.09), _how_often(0.01)
    ('nearly all of the time', 'about half of the time', 'about a tenth of the time', 'hardly ever otherwise')
    """
    return next((words for least, words in OFTEN if share >= least), "hardly ever otherwise")
