"""What the numbers of one visit say: every rule is asked, the gravest answer comes first."""

from collections.abc import Iterator, Sequence

from service.domain.assessment import (
    bath,
    condenser,
    contacts,
    currents,
    flammables,
    glycol,
    ice,
    observations,
    pouring,
    pull_down,
    refrigeration,
    supply,
    switches,
)
from service.domain.assessment.evidence import Evidence, Need, gather, listed
from service.domain.assessment.rule import Rule, told
from service.domain.assessment.statement import SEVERITIES, Assessment, Statement, WouldSayMore
from service.domain.record.fleet import Unit
from service.domain.record.visits import Visit

# In the order in which statements of one severity are told: people, then beer, then the machine.
RULES: tuple[Rule, ...] = (
    *flammables.RULES,
    *glycol.RULES,
    *ice.RULES,
    *switches.RULES,
    *supply.RULES,
    *pouring.RULES,
    *pull_down.RULES,
    *bath.RULES,
    *refrigeration.RULES,
    *condenser.RULES,
    *currents.RULES,
    *contacts.RULES,
    *observations.RULES,
)
MOST_ASKED = 2
ASKED = 3.0  # a rule that the complaint or the find asks for counts so much more; judged
VOIDED = Statement(
    code="visit_voided",
    severity="note",
    figures={},
    sentence="This visit was voided: nothing is concluded from it.",
    advice=None,
    caution=None,
    source="the record",
)


def assess(visit: Visit, unit: Unit, system: str) -> Assessment:
    """What a visit's numbers say of its unit, in sentences for a reader of "us" or "si" units.

    A rule without its readings says nothing; a reading for which a formula does not hold becomes a note.
    """
    if visit.void is not None:
        return Assessment(statements=(VOIDED,))
    evidence = gather(visit, unit, system)
    silent: list[tuple[Rule, Sequence[Need]]] = []
    statements: list[Statement] = []
    for rule in RULES:
        missing = [need for need in rule.needs if not need.found(evidence)]
        if missing:
            silent.append((rule, missing))
        else:
            statements += _statements(evidence, rule)
    return Assessment(statements=_in_order(statements), would_say_more=_most_telling(evidence, silent))


def _statements(e: Evidence, rule: Rule) -> Iterator[Statement]:
    for said in told(e, rule.judge):
        yield Statement(
            code=said.code,
            severity=said.severity,
            figures=said.figures,
            sentence=said.sentence,
            advice=said.advice,
            caution=rule.caution if said.advice is not None else None,
            source=rule.source,
        )


def _in_order(statements: Sequence[Statement]) -> tuple[Statement, ...]:
    """The gravest first; what two rules say alike, as of a reading that neither can use, is told once."""
    once: dict[tuple[str, str], Statement] = {}
    for statement in statements:
        once.setdefault((statement.code, statement.sentence), statement)
    return tuple(sorted(once.values(), key=lambda statement: SEVERITIES.index(statement.severity)))


def _most_telling(e: Evidence, silent: Sequence[tuple[Rule, Sequence[Need]]]) -> tuple[WouldSayMore, ...]:
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
    return tuple(_worth_saying(*lacked[name]) for name in list(best.values())[:MOST_ASKED] if worth[name] > 0.0)


def _words(e: Evidence) -> set[str]:
    """What the visit speaks of: symptom, what was replaced, in which condition, what was seen."""
    visit = e.visit
    words = {part.condition for part in visit.replacements} | set(e.seen)
    words |= {e.parts[part.component].kind for part in visit.replacements if part.component in e.parts}
    return words | ({visit.complaint.symptom} if visit.complaint else set())


def _worth_saying(need: Need, told: list[tuple[float, str]]) -> WouldSayMore:
    tells = dict.fromkeys(text for _, text in sorted(told, key=lambda each: -each[0]))
    sentence = f"{need.words} would tell {listed(list(tells)[:2])}."
    return WouldSayMore(name=need.name, of=need.of, why=sentence[:1].upper() + sentence[1:])
