"""The assessment of one visit: every rule is run, the most urgent finding comes first."""

from collections.abc import Sequence

from service.domain.assessment import (
    air_rise,
    apart,
    bath,
    condenser,
    contacts,
    contradictions,
    controller,
    currents,
    flammables,
    gas,
    glasses,
    glycol,
    ice,
    load,
    observations,
    pouring,
    pull_down,
    pumping,
    purging,
    refrigeration,
    standing,
    superheats,
    supply,
    switches,
    topping_up,
    voltages,
)
from service.domain.assessment.evidence import Evidence, Need, gather_all, listed
from service.domain.assessment.finding import SEVERITIES, Assessment, Finding, WouldHelp
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.rule import Rule, run_rule
from service.domain.assessment.settle import burnt_at, settled, what_first
from service.domain.record.fleet import Unit
from service.domain.record.visits import Visit

# In the order in which findings of one severity are listed: people, then beer, then the machine.
RULES: tuple[Rule, ...] = (
    *flammables.RULES,
    *glycol.RULES,
    *ice.RULES,
    *contradictions.RULES,
    *controller.RULES,
    *supply.RULES,
    *voltages.RULES,
    *standing.RULES,
    *switches.RULES,
    *pumping.RULES,
    *pouring.RULES,
    *glasses.RULES,
    *pull_down.RULES,
    *bath.RULES,
    *load.RULES,
    *refrigeration.RULES,
    *topping_up.RULES,
    *gas.RULES,
    *condenser.RULES,
    *air_rise.RULES,
    *apart.RULES,
    *superheats.RULES,
    *currents.RULES,
    *contacts.RULES,
    *observations.RULES,
    *purging.RULES,
)
MOST_ASKED = 2
ASKED = 3.0  # weight of a rule that answers the complaint or what was found; judged, no source
VOIDED = Finding(
    code="visit_voided",
    severity="note",
    figures={},
    sentence="This visit was voided: no conclusion is drawn from it.",
    advice=None,
    caution=None,
    source="the record",
)


def assess(visit: Visit, unit: Unit, system: str, elevation: float | None = None) -> Assessment:
    """Assess a visit of a unit, with sentences for a reader of "us" or "si" units.

    A rule without its readings gives no finding; a reading outside a formula's range becomes a note. `elevation` is the
    site's [m], None where it is not recorded.
    """
    if visit.void is not None:
        return Assessment(findings=(VOIDED,))
    whole, each = gather_all(visit, unit, system, elevation)
    findings, silent = _run(RULES, whole, each)
    ordered = in_order(findings)
    return Assessment(
        findings=ordered,
        first=what_first(ordered, burnt_at(visit)),
        would_help=_most_useful(whole, silent),
        operating_state=operating_state(each[-1]),
    )


def findings_by(rules: Sequence[Rule], whole: Evidence, each: Sequence[Evidence]) -> tuple[Finding, ...]:
    """What these rules find in the evidence of a visit, most urgent first, without its state; see `gather_all`."""
    return in_order(_run(rules, whole, each, stated=False)[0])


def _run(
    rules: Sequence[Rule], whole: Evidence, each: Sequence[Evidence], *, stated: bool = True
) -> tuple[list[Finding], list[tuple[Rule, Sequence[Need]]]]:
    """The findings of the rules, and those that could not run with what they lack."""
    findings: list[Finding] = []
    silent: list[tuple[Rule, Sequence[Need]]] = []
    asked = {"whole": [whole], "last": each[-1:], "each": each}
    for rule in rules:
        if ready := [e for e in asked[rule.runs] if rule.can_run(e)]:
            found = [_findings(e, rule, stated) for e in ready]
            findings += settled(rule, whole, found) if any(found) else ()
        else:
            silent.append((rule, rule.lacks(asked[rule.runs][-1])))
    return findings, silent


def _findings(e: Evidence, rule: Rule, stated: bool) -> list[Finding]:
    found = list(run_rule(e, rule.judge))
    if not found:
        return found
    state = operating_state(e).state if stated and rule.runs != "whole" else None
    return [
        Finding(
            code=finding.code,
            severity=finding.severity,
            figures=finding.figures,
            sentence=finding.sentence,
            advice=finding.advice,
            caution=None if finding.advice is None else rule.caution,
            source=rule.source,
            moment=e.moment,
            state=state,
        )
        for finding in found
    ]


def in_order(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Most urgent first; the same finding of two rules, as of a reading that neither can use, is listed once."""
    once: dict[tuple[str, str], Finding] = {}
    for finding in findings:
        once.setdefault((finding.code, finding.sentence), finding)
    return tuple(sorted(once.values(), key=lambda finding: SEVERITIES.index(finding.severity)))


def _most_useful(e: Evidence, silent: Sequence[tuple[Rule, Sequence[Need]]]) -> tuple[WouldHelp, ...]:
    """The missing inputs of the rules that could not run, the most useful first.

    A rule's usefulness is shared out among its missing inputs. An input that this unit cannot give is left out with its
    rule, and of one quantity only one input is asked for.
    """
    asking = _codes(e)
    use: dict[str, float] = {}
    lacked: dict[str, tuple[Need, list[tuple[float, str]]]] = {}
    for rule, missing in silent:
        if any(need.can_be_had is not None and not need.can_be_had(e) for need in missing):
            continue
        share = rule.weight * (ASKED if asking & rule.asked_by else 1.0) / len(missing)
        for need in missing:
            use[need.name] = use.get(need.name, 0.0) + share
            lacked.setdefault(need.name, (need, []))[1].append((share, rule.shows))
    best: dict[str, str] = {}
    for name in sorted(use, key=lambda each: -use[each]):
        best.setdefault(name if lacked[name][0].of == "unit" else name.partition(".")[0], name)
    return tuple(_would_help(*lacked[name]) for name in list(best.values())[:MOST_ASKED] if use[name] > 0.0)


def _codes(e: Evidence) -> set[str]:
    """The codes that a visit gives: symptom, kinds and conditions of what was replaced, observations."""
    visit = e.visit
    codes = {part.condition for part in visit.replacements} | set(e.seen)
    codes |= {e.parts[part.component].kind for part in visit.replacements if part.component in e.parts}
    return codes | ({visit.complaint.symptom} if visit.complaint else set())


def _would_help(need: Need, answers: list[tuple[float, str]]) -> WouldHelp:
    shows = dict.fromkeys(text for _, text in sorted(answers, key=lambda each: -each[0]))
    sentence = f"{need.phrase} would show {listed(list(shows)[:2])}."
    return WouldHelp(name=need.name, of=need.of, why=sentence[:1].upper() + sentence[1:])
