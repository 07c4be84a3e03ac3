"""Sends generated requests and checks every answer."""

import json
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

from hypothesis import HealthCheck, given, seed, settings
from schemathesis.checks import CHECKS

from tests.fuzz_requests import requests
from tests.fuzz_requests.target import Target, opened

CHECKED = [
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_headers_conformance",
    "response_schema_conformance",
]
REFERENCE = ("there is no ", "is no other component", "is not a component of")


@dataclass
class Outcome:
    """Answers by status; failures; and of valid requests with a body, how far they got."""

    statuses: Counter[int] = field(default_factory=Counter)
    failures: list[str] = field(default_factory=list)
    valid: Counter[str] = field(default_factory=Counter)

    def share(self, *others: str) -> float:
        """The share of valid requests that were not refused with 422, or for one of these reasons only."""
        beyond = sum(self.valid[reason] for reason in ("accepted", *others))
        return beyond / max(sum(self.valid.values()), 1)


def run(number: int, *, start: int = 0, damaged: bool = True, aimed: float = 0.8) -> Outcome:
    """Send about so many requests, as every role in turn, in rounds over all operations."""
    outcome = Outcome()
    with TemporaryDirectory() as folder, opened(Path(folder)) as target:
        operations = requests.operations(target)
        each = min(25, max(number // len(operations), 1))
        rounds = max(round(number / (each * len(operations))), 1)
        for turn in range(rounds):
            for place, operation in enumerate(operations):
                sender = Sender(target, outcome, Random(f"{start} {turn} {place}"), damaged, aimed)
                _send(operation, sender, each, seed_of=start + turn)
    return outcome


def _send(operation: Any, sender: "Sender", number: int, seed_of: int) -> None:
    @seed(seed_of)
    @given(case=requests.strategy_of(operation))
    @settings(max_examples=number, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    def every_request(case: Any) -> None:
        sender.send(case)

    every_request()


@dataclass
class Sender:
    """Sends one case after another."""

    target: Target
    outcome: Outcome
    random: Random
    damaged: bool
    aimed: float

    def send(self, case: Any) -> None:
        """Aim, damage, send, and check one request; what is wrong is kept, not raised."""
        requests.aim(case, self.target, self.random, self.aimed)
        valid = not (self.damaged and self.random.random() < 0.4)
        has_body = isinstance(case.body, dict | list)
        if has_body and not valid:
            case.body = requests.damaged(case.body, self.random)
        role = self.random.choice(list(self.target.headers)) if self.damaged else "owner"
        headers = {**(case.headers or {}), **self.target.headers[role]}
        if "If-Match" in headers and self.random.random() < 0.8:
            headers["If-Match"] = "*"
        answer = case.call(headers=headers)
        self.outcome.statuses[answer.status_code] += 1
        if wrong := fault_of(case, answer):
            self.outcome.failures.append(f"{case.method} {case.formatted_path} {case.body!r:.500}: {wrong}")
        if has_body and valid and answer.status_code not in (401, 403):
            self.outcome.valid[_how_far(answer)] += 1
        requests.learn(case, answer, self.target)


def fault_of(case: Any, answer: Any) -> str | None:
    """What is wrong with an answer."""
    if answer.status_code >= 400:
        problem = json.loads(answer.content)
        if answer.headers["content-type"][0] != "application/problem+json" or problem["status"] != answer.status_code:
            return f"{answer.status_code} is no problem document"
        if len(problem.get("errors", ())) > 50:
            return "names more than 50 faults"
    try:
        case.validate_response(answer, checks=CHECKS.get_by_names(CHECKED))
    except BaseExceptionGroup as group:
        return "; ".join(str(each)[:1000] for each in group.exceptions)
    return None


def _how_far(answer: Any) -> str:
    if answer.status_code != 422:
        return "accepted"
    problem = answer.json()
    if problem["type"] == "/problems/key-reused":
        return "key"
    faults = [fault["message"] for fault in problem.get("errors", ())]
    return "reference" if faults and all(text.startswith(REFERENCE) for text in faults) else "refused"
