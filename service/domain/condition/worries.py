"""What the latest visits found wrong, as their assessments report it."""

from collections.abc import Container, Iterator, Sequence

from service.domain.assessment.assess import RULES, findings_by
from service.domain.assessment.evidence import Evidence, gather_all
from service.domain.assessment.finding import Finding
from service.domain.assessment.rule import Rule
from service.domain.condition.latest import Worry
from service.domain.physics.glycol.protection import ETHYLENE
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Visit

VISITS = 12  # visits looked at, the latest first
URGENT = ("stop", "act")
RULE_OF = {code: rule for rule in RULES if rule.needs for code in rule.codes}  # that reads it


def worries_of(log: UnitLog) -> tuple[Worry, ...]:
    """The urgent findings that no later visit has looked at again."""
    return unanswered(log, log.visits, RULES)


def unanswered(log: UnitLog, visits: Sequence[Visit], rules: Sequence[Rule]) -> tuple[Worry, ...]:
    """The urgent findings of these rules at these visits that no later one of them has looked at again.

    What was seen, and not read, counts from the latest visit alone: nobody records that something is not there.
    """
    answered: set[tuple[int, str | None]] = set()
    found: dict[tuple[str, str | None], Worry] = {}
    for number, visit in enumerate(reversed(visits[-VISITS:])):
        whole, moments = gather_all(visit, log.unit, "us", log.elevation)
        asked = rules if number == 0 else [rule for rule in rules if not _is_answered(rule, visit, answered)]
        findings = findings_by(asked, whole, moments)
        for finding in (each for each in findings if each.severity in URGENT):
            worry = _worry(finding)
            if number == 0 or (_was_read(finding) and (id(RULE_OF[finding.code]), worry.component) not in answered):
                found.setdefault((worry.code, worry.component), worry)
        answered |= set(_looked_at(whole, rules))
    return (*_of_record(log, visits), *found.values())


def _is_answered(rule: Rule, visit: Visit, answered: Container[tuple[int, str | None]]) -> bool:
    """Whether later visits looked at everything that the rule could find in the readings of a visit."""
    places = {None, *(each.component for each in visit.readings)}
    read = (id(RULE_OF[code]) for code in rule.codes if code in RULE_OF)
    return all((of, place) in answered for of in read for place in places)


def _was_read(finding: Finding) -> bool:
    return finding.code in RULE_OF and "observed" not in finding.figures


def _of_record(log: UnitLog, visits: Sequence[Visit]) -> Iterator[Worry]:
    """What the record alone says is wrong, where there is no visit that could say it."""
    if not visits and log.unit.bath is not None and log.unit.bath.glycol == "ethylene":
        yield Worry(code=ETHYLENE.code, sentence=ETHYLENE.reason, source=ETHYLENE.source)


def _looked_at(evidence: Evidence, rules: Sequence[Rule]) -> Iterator[tuple[int, str | None]]:
    """The rules that a visit could answer, of the unit and of each component at which it read something."""
    places = {None, *(each.component for each in evidence.readings)}
    for rule in rules:
        if rule.needs and all(need.found(evidence) for need in rule.needs):
            yield from ((id(rule), place) for place in places)


def _worry(finding: Finding) -> Worry:
    component = finding.figures.get("component")
    return Worry(
        code=finding.code,
        component=component if isinstance(component, str) else None,
        sentence=finding.sentence,
        source=finding.source,
    )
