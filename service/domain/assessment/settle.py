"""What was found against what was left, and what to do first."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

from service.domain.assessment.evidence import Evidence, listed
from service.domain.assessment.finding import Finding
from service.domain.assessment.rule import Rule
from service.domain.record.visits import Reading, Visit

URGENT = ("stop", "act")
MOST_SENTENCES = 3
BEFORE_CAUSE = 2
CLEAN = "clean"
IN_ORDER = "Everything that was measured is in order."
NOTHING_SHOWS = (
    "Nothing that was read shows why {} burnt; have qualified people read what was not read under load: current, "
    "voltage, and the drop and heat at the terminals."
)
FLAMMABLE = "refrigerant_flammable"  # a caution, whatever was measured: it takes no place of what to do
UNSURE = frozenset(
    {"bath_near_band", "loop_rise_unclear", "air_rise_unclear", "capacity_low_today"}
)  # to be read, no fault
PLANNED = frozenset({"switch_near_rating"})  # for the next time the part is replaced, after what this visit is for
FOLLOWS = frozenset(
    {"purge_lines", "bath_warm", "bath_set_warm", "display_dark", "current_none"}
)  # from what is urgent
START_GEAR = frozenset({"start_capacitor", "start_relay", "overload_protector"})  # of a compressor that does not start
OF_RATINGS = frozenset({"switch_over_rating", "switch_near_rating"})  # a new part of the same rating settles nothing
CAUSE, EXPLAINED = "likely_cause", "explanations"  # the finding of triage, and its figure
READ_AGAIN = "It was worked on after this reading: read it again as left."
PUT_RIGHT = "As left it is in order: see the reading as left."
SEE_LEFT = "It was read again: see the reading as left."


def settled(rule: Rule, whole: Evidence, by_moment: Sequence[Sequence[Finding]]) -> Iterator[Finding]:
    """The findings of a rule, those as found in the light of those as left.

    What was urgent as found stays so, unless it was worked on or, for a rule that does not last, is not urgent as left:
    that it is in order is said only where nothing was found as left, at a later time. What was not urgent gives way to
    the reading as left.
    """
    *earlier, last = by_moment
    in_order = bool(last) and all(each.severity == "fine" for each in last) and not _left_before_found(whole)
    for found in (finding for findings in earlier for finding in findings):
        later = [left for left in last if _place(left) in (None, _place(found))]
        again = bool(later) or _read_again(whole, found)
        if found.severity not in URGENT:
            yield from () if again else (_worked(found, rule, whole),)
        elif not any(left.severity in URGENT and left.code == found.code for left in later):
            yield _in_its_light(found, rule, whole, again=again, advice=PUT_RIGHT if in_order else SEE_LEFT)
    yield from (_worked(finding, rule, whole) for finding in last)


def _read_again(whole: Evidence, found: Finding) -> bool:
    """Whether the rule ran again as left, on the same component where the finding is of one."""
    place = _place(found)
    return place is None or any(each.component == place and each.when == "as_left" for each in whole.readings)


@lru_cache(maxsize=32)
def _left_before_found(whole: Evidence) -> bool:
    """The same for all rules of a visit."""
    return left_before_found(whole.visit) is not None


def left_before_found(visit: Visit) -> tuple[Reading, Reading] | None:
    """A reading as left that is timed before the same one as found, which cannot be, and that one."""
    found = [each for each in visit.readings if each.when == "as_found" and each.at is not None]
    for one in visit.readings:
        if one.when == "as_left" and one.at is not None:
            later = [each for each in found if _same_place(each, one) and each.at and each.at > one.at]
            if later:
                return one, later[-1]
    return None


def _same_place(one: Reading, other: Reading) -> bool:
    return (one.quantity, one.component, one.tap) == (other.quantity, other.component, other.tap)


def _in_its_light(found: Finding, rule: Rule, whole: Evidence, *, again: bool, advice: str) -> Finding:
    if again and (worked_on(whole, found, rule) or not rule.lasts):
        return replace(found, severity="note", advice=advice)
    return _worked(found, rule, whole)


def _worked(finding: Finding, rule: Rule, whole: Evidence) -> Finding:
    """The finding; where the fault was worked on after the reading, a note to read it again."""
    settles = finding.severity == "act" or (finding.severity == "note" and finding.advice is not None)
    if not settles or finding.moment != "as_found" or not worked_on(whole, finding, rule):
        return finding
    return replace(finding, severity="note", advice=READ_AGAIN)


def worked_on(whole: Evidence, finding: Finding, rule: Rule) -> bool:
    """Whether what was read was worked on in the visit: a task done, or the component replaced by us.

    To clean what was found clean puts nothing right, nor does a new switch that the record does not call larger.
    """
    tasks = (each for each in whole.visit.tasks if each.task in rule.repaired_by and each.result == "done")
    done = any(each.as_found != CLEAN for each in tasks)
    place = _place(finding)
    ours = [part.component for part in whole.visit.replacements if part.by == "us"]
    gear = finding.code == "rotor_locked" and any(whole.kind_at(code) in START_GEAR for code in ours)
    return done or gear or (place in ours and finding.code not in OF_RATINGS)


def _place(finding: Finding) -> object:
    return finding.figures.get("component")


def burnt_at(visit: Visit) -> tuple[str, ...]:
    """The components that were found burnt and replaced by us."""
    return tuple(dict.fromkeys(p.component for p in visit.replacements if p.by == "us" and p.condition == "burnt"))


def what_first(findings: Sequence[Finding], burnt: Sequence[str] = ()) -> tuple[str, ...]:
    """At most three sentences to act on, worst first: the first sentence of the advice of the most urgent findings.

    The cause that explains a complaint stands after two of them at the latest. What is worth knowing takes the places
    that are left; where that is nothing either, all is in order, but for what burnt without a reason that was read.
    """
    urgent = [finding for finding in findings if finding.severity in URGENT]
    cause = [finding for finding in findings if finding.code == CAUSE]
    asked = [*urgent[:BEFORE_CAUSE], *(each for each in cause if "," not in str(each.figures[EXPLAINED]))]
    asked += urgent[BEFORE_CAUSE:]
    left_out = UNSURE | FOLLOWS if urgent else frozenset[str]()
    known = [f for f in findings if f.severity == "note" and f not in cause and f.code not in left_out]
    asked += sorted(known, key=lambda each: each.code in UNSURE | PLANNED)
    advised = [each for each in asked if each.advice not in (None, PUT_RIGHT, SEE_LEFT) and each.code != FLAMMABLE]
    jobs = {(_first_of(each.advice or ""), _place(each)): each for each in reversed(advised)}  # each is named once
    sentences = dict.fromkeys(_one_sentence(each) for each in reversed(jobs.values()))
    if burnt and not sentences:
        return (NOTHING_SHOWS.format(listed(burnt)),)
    judged = any(each.code != FLAMMABLE for each in findings)
    return tuple(sentences)[:MOST_SENTENCES] or ((IN_ORDER,) if judged else ())


def _one_sentence(finding: Finding) -> str:
    """What was found and what to do first, in one sentence."""
    found = _first_of(finding.sentence)
    if finding.code == CAUSE:
        found = f"Likely cause: {_small(found)}"
    return f"{found}; {_small(_first_of(finding.advice or ''))}."


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


def _first_of(text: str) -> str:
    """The first sentence of a text, without its full stop."""
    return text.partition(". ")[0].rstrip(".")
