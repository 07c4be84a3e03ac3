"""Which one or two readings would say most next."""

from collections.abc import Sequence

from service.domain.assessment.evidence import Evidence, Need, listed
from service.domain.assessment.rule import Rule
from service.domain.assessment.statement import WouldSayMore

MOST = 2
ASKED = 3.0  # a rule that the complaint or the find asks for counts so much more; judged


def most_telling(e: Evidence, silent: Sequence[tuple[Rule, Sequence[Need]]]) -> tuple[WouldSayMore, ...]:
    """The needs that would let the silent rules speak, those worth most first.

    A rule's worth is shared out among what it lacks. What cannot be had at this unit is left out with its rule, and of
    one quantity only one thing is asked.
    """
    words = _words(e)
    worth: dict[str, float] = {}
    lacked: dict[str, tuple[Need, list[tuple[float, str]]]] = {}
    for rule, missing in silent:
        if not all(need.can_be_had(e) for need in missing):
            continue
        share = rule.weight * (ASKED if words & rule.asked_by else 1.0) / len(missing)
        for need in missing:
            worth[need.name] = worth.get(need.name, 0.0) + share
            lacked.setdefault(need.name, (need, []))[1].append((share, rule.tells))
    best: dict[str, str] = {}
    for name in sorted(worth, key=lambda each: -worth[each]):
        best.setdefault(name if lacked[name][0].of == "unit" else name.partition(".")[0], name)
    return tuple(_said(*lacked[name]) for name in list(best.values())[:MOST] if worth[name] > 0.0)


def _words(e: Evidence) -> set[str]:
    """What the visit speaks of: symptom, what was replaced, in which condition, what was seen."""
    visit = e.visit
    words = {part.condition for part in visit.replacements} | set(e.seen)
    words |= {e.parts[part.component].kind for part in visit.replacements if part.component in e.parts}
    return words | ({visit.complaint.symptom} if visit.complaint else set())


def _said(need: Need, told: list[tuple[float, str]]) -> WouldSayMore:
    tells = dict.fromkeys(text for _, text in sorted(told, key=lambda each: -each[0]))
    sentence = f"{need.words} would tell {listed(list(tells)[:2])}."
    return WouldSayMore(name=need.name, of=need.of, why=sentence[:1].upper() + sentence[1:])
