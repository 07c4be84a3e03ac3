"""Triage as a dialogue of one question at a time; all that was answered stands in the address, nothing is stored."""

from collections.abc import Iterator, Mapping
from typing import Any

from flask import Response, request

from service.api.auth import STAFF
from service.api.state import actor, caller, database, state
from service.domain.errors import Invalid
from service.domain.record.readings import BY_QUANTITY
from service.domain.record.visits import SYMPTOMS
from service.domain.triage.observations import SIGNS
from service.schemas.reading import read
from service.schemas.triage import TriageQuestionSchema, triage_to_json
from service.usecases.diagnosis import triage
from service.web.page import Pages
from service.web.render import show
from service.web.visit_document import number
from service.web.visit_rows import Row, row_of, unit_of

QUESTIONS = {sign.code: sign.question for sign in SIGNS}
ANSWERS = {"yes": True, "no": False}
LIKELY = 0.02
pages = Pages("triage")


@pages.get("/units/<tag>/triage", allow=STAFF)
def dialogue(tag: str) -> Response:
    """The next question, and what is likely by now."""
    given, refusal = list(request.args.items(multi=True)), None
    system, weigh = caller().units_shown, state().computing.weigh
    with database().reading() as store:
        unit = store.units.get(tag)
        asked: dict[str, Any] = {"unit": unit.tag, **_asked(given, system)}
        try:
            found = triage.triage(store, actor(), read(TriageQuestionSchema(), asked), system, weigh)
        except Invalid as invalid:
            refusal = str(invalid)
            given = [pair for pair in given if pair[0].partition(":")[0] == "skip"]
            found = triage.triage(store, actor(), {"unit": unit.tag}, system, weigh)
    shown = triage_to_json(found, system)
    skipped = {value for name, value in given if name == "skip"}
    step = next((each for each in shown["next"] if each["code"] not in skipped), None)
    return show(
        "triage.html", unit=unit, given=[pair for pair in given if pair[1]], answered=list(_in_words(given, system)),
        triage=shown, step=step, rows=[] if step is None else [_row(each, system) for each in step["readings"]],
        questions=QUESTIONS, symptoms=SYMPTOMS, likely=[e for e in shown["explanations"] if e["probability"] >= LIKELY],
        symptom=asked.get("symptom"), refusal=refusal,
    )  # fmt: skip


def _asked(given: list[tuple[str, str]], system: str) -> dict[str, Any]:
    """The question that the address holds, as the API takes it."""
    readings, observations, asked = [], [], {}
    for name, value in given:
        kind, _, rest = name.partition(":")
        if kind == "symptom" and value:
            asked["symptom"] = value
        if kind == "saw" and value in ANSWERS:
            observations.append({"code": rest, "present": ANSWERS[value]})
        if kind == "read" and value.strip() and rest.partition(":")[0] in BY_QUANTITY:
            readings.append(_reading(rest, value, system))
    return {**asked, "readings": readings, "observations": observations}


def _reading(name: str, value: str, system: str) -> dict[str, str]:
    quantity, _, component = name.partition(":")
    unit = unit_of(BY_QUANTITY[quantity].dimensions[0], system)
    reading = {"quantity": quantity, "value": f"{number(value)} {unit}"}
    where = {"tap": component or "1"} if BY_QUANTITY[quantity].at_tap else {"component": component}
    return reading | {key: code for key, code in where.items() if code}


def _row(wanted: Mapping[str, Any], system: str) -> tuple[str, Row]:
    """The field of a reading, and its row."""
    place = (wanted["quantity"], wanted["component"], None)
    return f"read:{wanted['quantity']}:{wanted['component'] or ''}", row_of(place, (), system)


def _in_words(given: list[tuple[str, str]], system: str) -> Iterator[str]:
    """What was answered so far."""
    for name, value in given:
        kind, _, rest = name.partition(":")
        if kind == "saw" and value in ANSWERS:
            yield f"{QUESTIONS.get(rest, rest)} {value}"
        if kind == "read" and value.strip() and rest.partition(":")[0] in BY_QUANTITY:
            row = row_of((rest.partition(":")[0], rest.partition(":")[2] or None, None), (), system)
            yield f"{row.label}: {value} {row.sign}"
