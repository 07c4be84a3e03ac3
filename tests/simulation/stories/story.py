"""A story, the verdict on it, and what is short of the verdict in an answer."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from tests.simulation.truth import Line

TIERS = ("", "watch", "probable", "strong")
TODAY = date(2026, 6, 9)
PRACTICE = "common practice, no source"
MONTHS = r"\b(?:January|February|March|April|May|June|July|August|September|October|November|December)\s+\d"
Word = str | tuple[str, ...]
Item = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What a senior technician expects to read of one kind of part: the cause, how sure, and what is said of it.

    `unit` empty: at any unit or of the fleet. `words` must be in the explanation, of several alternatives one; `checks`
    in the next check or the remedy; `never` in none of them. A word is compared without regard to capitals.
    """

    kind: str = ""
    unit: str = "K-1"
    causes: tuple[str, ...] = ()
    at_least: str = ""
    at_most: str = "strong"
    words: tuple[Word, ...] = ()
    checks: tuple[Word, ...] = ()
    never: tuple[str, ...] = ()

    def short(self, items: Sequence[Item]) -> list[str]:
        """What the answer falls short of; nothing where the verdict is met."""
        own = [each for each in items if self._meant(each)]
        best = max(own, key=lambda each: TIERS.index(each["tier"]), default=None)
        tier = best["tier"] if best else ""
        found = []
        if TIERS.index(tier) < TIERS.index(self.at_least):
            found.append(f"{self._name()}: {tier or 'not listed'}, should be at least {self.at_least}")
        if TIERS.index(tier) > TIERS.index(self.at_most):
            found.append(f"{self._name()}: {tier}, should be at most {self.at_most or 'not listed'}")
        return found + (self._of_sentence(best) if best and (self.causes or self.words or self.never) else [])

    def _name(self) -> str:
        return f"{self.unit or 'fleet'} {self.kind}".strip()

    def _meant(self, item: Item) -> bool:
        right_kind = not self.kind or self.kind in (item.get("component_kind"), *item.get("component_kinds", ()))
        if self.unit:
            return right_kind and item.get("unit") == self.unit
        return right_kind and (not self.causes or item["causes"][0]["cause"] in self.causes)

    def _of_sentence(self, item: Item) -> list[str]:
        text = item["explanation"].lower()
        advice = f"{item['next_check']} {item['remedy']}".lower()
        cause = item["causes"][0]["cause"]
        found = [f"{self._name()}: the cause is {cause}"] if self.causes and cause not in self.causes else []
        found += [f"{self._name()}: not explained: {word}" for word in self.words if not _in(word, text)]
        found += [f"{self._name()}: not advised: {word}" for word in self.checks if not _in(word, advice)]
        return found + [f"{self._name()}: should not say {word}" for word in self.never if _in(word, text + advice)]


def _in(word: Word, text: str) -> bool:
    return any(each.lower() in text for each in ([word] if isinstance(word, str) else word))


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """What happened, as an import; the verdict in prose, written before anybody asked the engine, and as checks.

    `posted`: visits are posted one by one, each on the day on which it arrived or that `recorded` gives by its id.
    `asked`: the answer as of a day instead of today's.
    """

    name: str
    scene: str
    verdict: str
    lines: tuple[Line, ...]
    expected: tuple[Verdict, ...]
    posted: bool = False
    recorded: Mapping[str, date] | None = None
    asked: date | None = None
    today: date = TODAY
    source: str = PRACTICE

    def short(self, items: Sequence[Item]) -> list[str]:
        """What the answer falls short of."""
        return [line for verdict in self.expected for line in verdict.short(items)]


def unclear(item: Item) -> list[str]:
    """What is wrong with the form of a sentence: two scales of probability, or dates in words."""
    text = item["explanation"]
    scales = [bool(re.search(pattern, text)) for pattern in (r"(?:chance|\()(?: ?(?:over|under))? ?\d+ ?%", r"1 in \d")]
    found = ["two scales of probability"] if all(scales) else []
    return found + (["a date in words"] if re.search(MONTHS, text) else [])


def none(kind: str, unit: str = "K-1") -> Verdict:
    """Nothing is to be listed."""
    return Verdict(kind=kind, unit=unit, at_most="")
