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
from service.domain.assessment.evidence import Evidence, Need, gather
from service.domain.assessment.more import most_telling
from service.domain.assessment.rule import Rule, told
from service.domain.assessment.statement import SEVERITIES, Assessment, Statement
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
    return Assessment(statements=_in_order(statements), would_say_more=most_telling(evidence, silent))


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
