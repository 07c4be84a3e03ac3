"""Clients that post, correct, void and read, send again what was not answered, and remember what was acknowledged."""

import json
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from random import Random
from threading import Event, Lock, Thread
from time import monotonic, sleep
from typing import Any
from uuid import UUID

PATIENCE = 30.0  # [s] for one answer
GIVEN_UP = 300.0  # [s] in which what is sent again and again must be taken
AGAIN = frozenset({408, 429, 503})
YEARS = (2023, 2024, 2025)
DOCUMENTS = ("format=pdf", "format=xlsx")
TASKS = ("condenser_clean", "pump_check", "trunk_check", "strainer_clean", "glycol_strength_check")


@dataclass
class Known:
    """What a client knows of a visit of its own: its text now, how often it was corrected, whether it is void."""

    unit: str
    body: dict[str, Any]
    corrected: int = 0
    void: bool = False


@dataclass
class Report:
    """What all clients have seen."""

    answers: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    visits: dict[str, Known] = field(default_factory=dict)
    lock: Lock = field(default_factory=Lock)
    requests: int = 0

    def seen(self, kind: str, status: int) -> None:
        """Count an answer."""
        with self.lock:
            self.requests += 1
            self.answers[f"{kind} {status}"] += 1

    def fault(self, text: str) -> None:
        """Keep what must not have happened."""
        with self.lock:
            self.wrong.append(text[:500])


class Client(Thread):
    """One client with units and visits of its own, so that no other changes what it knows."""

    def __init__(
        self, port: Callable[[], int], token: str, units: list[str], customers: int, seed: int, report: Report
    ) -> None:
        super().__init__(name=f"client-{seed}", daemon=True)
        self.port, self.token, self.units, self.customers, self.report = port, token, units, customers, report
        self.random = Random(seed)
        self.done = Event()
        self.own: dict[str, Known] = {}

    def run(self) -> None:
        """Do one thing after the other until stopped."""
        try:
            while not self.done.is_set():
                self.act()
        except Exception as error:  # a thread's exception would be lost: it is what the soak is for
            self.report.fault(f"{self.name}: {type(error).__name__}: {error}")

    def act(self) -> None:
        """One request of the mix: two fifths write, one in fifty makes a document."""
        chance = self.random.random()
        if chance < 0.30 or not self.own:
            self.post()
        elif chance < 0.37:
            self.correct()
        elif chance < 0.40:
            self.void()
        elif chance < 0.42:
            customer, year = self.random.randrange(self.customers), self.random.choice(YEARS)
            form = self.random.choice(DOCUMENTS)
            self.get("document", f"/v1/customers/soak-{customer}/service-summaries/{year}?{form}")
        else:
            self.read()

    def read(self) -> None:
        """Read something about a unit or the fleet."""
        unit = self.random.choice(self.units)
        of_unit = [f"/v1/units/{unit}{below}" for below in ("", "/history", "/due", "/condition")]
        self.get(
            "read", self.random.choice([*of_unit, "/v1/pm-list?horizon_days=30", "/v1/visits?limit=50", "/healthz"])
        )

    def post(self) -> None:
        """Post a visit, again until it is taken."""
        unit, day = (
            self.random.choice(self.units),
            f"{self.random.choice(YEARS)}-{self.random.randint(1, 12):02}-{self.random.randint(1, 28):02}",
        )
        body = {
            "id": str(UUID(int=self.random.getrandbits(128), version=4)), "unit": unit, "kind": "maintenance",
            "technician": "soak", "arrived_at": f"{day}T18:00:00Z", "left_at": f"{day}T19:00:00Z",
            "readings": [
                {"quantity": "bath_temperature", "when": "as_left", "value": f"{self.random.randint(26, 40)} degF"}
            ],
            "tasks": [{"task": self.random.choice(TASKS), "result": "done"}],
            "work": f"number {self.random.getrandbits(40)}", "outcome": self.random.choice(("running", "recovering")),
        }  # fmt: skip
        if self.random.random() < 0.2:
            body["replacements"] = [
                {"component": "fan-1", "reason": "failed", "condition": "seized", "evidence": "seen"}
            ]
        status, _ = self.until_taken("post", "POST", "/v1/visits", body)
        if status not in (200, 201):
            self.report.fault(f"a visit was answered with {status}")
            return
        self.own[str(body["id"])] = known = Known(unit, body)
        with self.report.lock:
            self.report.visits[str(body["id"])] = known

    def correct(self) -> None:
        """Correct the text of a visit. An answer that was lost shows in the visit itself."""
        key = self.random.choice(list(self.own))
        known, text = self.own[key], f"corrected {self.random.getrandbits(40)}"
        if known.void:
            return
        change = {"work": text, "why": "as remembered"}
        deadline = monotonic() + GIVEN_UP
        while monotonic() < deadline:
            status, found = self.until_taken("read", "GET", f"/v1/visits/{key}", None)
            if status == 200 and found["work"] == text:
                known.corrected += 1
                known.body["work"] = text
                return
            headers = {"If-Match": self.etag}
            status, _ = self.once("correct", "PATCH", f"/v1/visits/{key}", change, headers)
            if status not in (0, 200, 412, *AGAIN):
                self.report.fault(f"a correction was answered with {status}")
                return
            if status != 200:
                sleep(0.2)
        self.report.fault("a correction was not taken")

    def void(self) -> None:
        """Void a visit."""
        key = self.random.choice(list(self.own))
        known = self.own[key]
        if known.void:
            return
        deadline = monotonic() + GIVEN_UP
        while monotonic() < deadline:
            status, found = self.until_taken("read", "GET", f"/v1/visits/{key}", None)
            if status == 200 and found.get("void"):
                known.void = True
                return
            status, _ = self.once("void", "POST", f"/v1/visits/{key}/void", {"reason": "soak"}, {"If-Match": self.etag})
            if status not in (0, 200, 409, 412, *AGAIN):
                self.report.fault(f"a void was answered with {status}")
                return
            if status != 200:
                sleep(0.2)
        self.report.fault("a void was not taken")

    def get(self, kind: str, path: str) -> None:
        """Read; it may be refused for a while, and may not be wrong."""
        status, _ = self.until_taken(kind, "GET", path, None)
        if status != 200:
            self.report.fault(f"GET {path} was answered with {status}")

    def until_taken(self, kind: str, method: str, path: str, body: Any) -> tuple[int, Any]:
        """Send it until the answer is neither missing nor "try again"."""
        deadline = monotonic() + GIVEN_UP
        while True:
            status, found = self.once(kind, method, path, body, {})
            if status not in (0, *AGAIN) or monotonic() > deadline:
                return status, found
            sleep(0.2)

    def once(self, kind: str, method: str, path: str, body: Any, headers: dict[str, str]) -> tuple[int, Any]:
        """One request; status 0 where no answer came."""
        head = {"Authorization": f"Bearer {self.token}", **headers}
        if body is not None:
            head["Content-Type"] = "application/json"
        connection = HTTPConnection("127.0.0.1", self.port(), timeout=PATIENCE)
        try:
            connection.request(method, path, None if body is None else json.dumps(body), head)
            answer = connection.getresponse()
            content = answer.read()
        except (OSError, HTTPException):
            self.report.seen(kind, 0)
            return 0, None
        finally:
            connection.close()
        self.etag = answer.headers.get("ETag", "")
        self.report.seen(kind, answer.status)
        if answer.status >= 500 and answer.status != 503:
            self.report.fault(f"{method} {path}: {answer.status} {content[:300]!r}")
        is_json = "json" in answer.headers.get("Content-Type", "")
        return answer.status, json.loads(content) if is_json and content else None
