"""The measures over many visits: false alarms on sound units, dangers reported, and what each finding code is worth."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from tests.simulation.units.engine import Answer
from tests.simulation.units.predicates import REPORTS, TRUE_OF, borne_out
from tests.simulation.units.visits import Visit

ALARMS = ("act", "stop")
Answered = Sequence[tuple[Visit, Answer]]
Findings = list[dict[str, Any]]
STATES = {"off_without_power": "off", "powered_idle": "idle", "called_not_running": "idle"}  # ours: the API's


@dataclass(slots=True)
class Code:
    """One finding code: how often it was said and true, said and false, and true but not said."""

    said_true: int = 0
    said_false: int = 0
    not_said: int = 0
    false_alarms: int = 0  # of `act` or `stop`, on sound units


@dataclass(slots=True)
class Measures:
    """The measures of a run."""

    sound: Counter[str] = field(default_factory=Counter)  # state -> visits to sound units
    alarmed: Counter[str] = field(default_factory=Counter)  # of these, with a false alarm
    dangers: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))  # danger -> reported
    faults: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))  # fault -> a true alarm was given
    codes: dict[str, Code] = field(default_factory=lambda: defaultdict(Code))
    states: dict[str, list[tuple[float, bool]]] = field(default_factory=lambda: defaultdict(list))
    unknown: Counter[str] = field(default_factory=Counter)

    @property
    def false_alarm_share(self) -> float:
        """Visits to sound units with an `act` or `stop` that the truth does not bear out, over all of them."""
        return self.alarmed.total() / max(self.sound.total(), 1)

    @property
    def danger_share(self) -> float:
        """Planted dangers reported, of those with a reading or observation that shows them."""
        all_of_them = [reported for each in self.dangers.values() for reported in each]
        return sum(all_of_them) / max(len(all_of_them), 1)


def false_alarms(visit: Visit, findings: Findings) -> list[str]:
    """The codes of `act` or `stop` that the truth does not bear out, at the moment of which they speak."""
    alarms = [finding for finding in findings if finding["severity"] in ALARMS]
    return [each["code"] for each in alarms if borne_out(each["code"], visit.truth, each.get("moment")) is False]


def reported(danger: str, findings: Findings) -> bool:
    """Whether a danger is reported, as an `act` or `stop`."""
    return any(finding["severity"] in ALARMS and finding["code"] in REPORTS[danger] for finding in findings)


def measured(answered: Answered) -> Measures:
    """The measures of visits with their findings."""
    measures = Measures()
    for visit, answer in answered:
        truth, findings = visit.truth, answer["findings"]
        _count_state(measures, visit, answer)
        wrong = false_alarms(visit, findings)
        if truth.healthy:
            measures.sound[truth.state] += 1
            measures.alarmed[truth.state] += bool(wrong)
        for danger in truth.evident:
            measures.dangers[danger].append(reported(danger, findings))
        alarms = [each["code"] for each in findings if each["severity"] in ALARMS]
        if len(truth.faults) == 1:
            measures.faults[truth.faults[0]].append(len(alarms) > len(wrong))
        _count_codes(measures, visit, findings, wrong)
    return measures


def _count_state(measures: Measures, visit: Visit, answer: Answer) -> None:
    """Whether the state inferred is one of those during the last readings; once the assessment has it."""
    inferred = answer.get("operating_state")
    if inferred and visit.body["readings"]:
        left = any(reading["when"] == "as_left" for reading in visit.body["readings"])
        true = {STATES.get(view.state, view.state) for view in visit.truth.views("as_left" if left else "as_found")}
        measures.states[inferred["state"]].append((inferred["probability"], inferred["state"] in true))


def _count_codes(measures: Measures, visit: Visit, findings: Findings, wrong: list[str]) -> None:
    said = {finding["code"]: finding.get("moment") for finding in findings}
    measures.unknown.update(said.keys() - TRUE_OF.keys())
    for code in TRUE_OF:
        true = borne_out(code, visit.truth, said.get(code))
        entry = measures.codes[code]
        entry.said_true += code in said and true is True
        entry.said_false += code in said and not true
        entry.not_said += code not in said and true is True
        entry.false_alarms += visit.truth.healthy and code in wrong


def lines(measures: Measures) -> Iterator[str]:
    """The report as text."""
    yield f"sound units: {measures.alarmed.total()} of {measures.sound.total()} visits with a false act or stop"
    yield f"  share {measures.false_alarm_share:.1%}; by state while the circuit was read:"
    for state, count in sorted(measures.sound.items()):
        yield f"  {state:20} {measures.alarmed[state]:4} of {count:4}  {measures.alarmed[state] / count:6.1%}"
    yield f"planted dangers reported, of those shown by a reading or an observation: {measures.danger_share:.1%}"
    for danger, each in sorted(measures.dangers.items()):
        yield f"  {danger:28} {sum(each):4} of {len(each):4}  {sum(each) / len(each):6.1%}"
    for state, each in sorted(measures.states.items()):
        stated, right = (sum(one[n] for one in each) / len(each) for n in (0, 1))
        yield f"state inferred: {state:16} {len(each):5} times, stated {stated:.2f}, right {right:.2f}"
    yield "single planted faults with at least one act or stop that the truth bears out (not all of them show):"
    for fault, each in sorted(measures.faults.items()):
        yield f"  {fault:32} {sum(each):4} of {len(each):4}  {sum(each) / len(each):6.1%}"
    yield f"{'finding':28} {'said, true':>10} {'said, false':>12} {'true, not said':>15} {'false on sound':>15}"
    for code, entry in sorted(measures.codes.items(), key=lambda item: -item[1].said_false):
        if entry.said_true or entry.said_false:
            counts = f"{entry.said_true:10} {entry.said_false:12} {entry.not_said:15} {entry.false_alarms:15}"
            yield f"{code:28} {counts}"
    for code, count in measures.unknown.most_common():
        yield f"no predicate for {code}: said {count} times"
