"""The form of a visit filled in from the visit as it is stored, and what a correction of that form changes.

The form cannot show everything that the API takes. What it does not show stays as it is stored: a correction holds the
parts in which the form as sent differs from the form as filled in, and no others.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from werkzeug.datastructures import MultiDict

from service.domain.instants import at_site
from service.domain.quantities import number_in
from service.domain.record.readings import BY_QUANTITY
from service.domain.record.visits import Item, Observation, Reading, Replacement, TaskResult, Visit
from service.web.visit_document import MOMENTS, PLAIN, STRENGTH, Form, Written, is_doubtful, written
from service.web.visit_fields import GRADED
from service.web.visit_rows import unit_of

LISTS = ("readings", "tasks", "replacements", "observations")
SEEN = "seen:"
FIELD_OF = {"arrived_at": "arrived", "complaint": "symptom"}
MOMENT_OF = {when: moment for moment, when in MOMENTS.items()}
Document = Mapping[str, Any]


@dataclass(slots=True)
class Filled:
    """The form, and for each stored part of a list the field that shows it; "" where the form has none for it."""

    form: Form
    system: str
    shown: Collection[str]
    names: dict[str, list[str]] = field(default_factory=dict)


def filled(visit: Visit, shown: Collection[str], system: str) -> Filled:
    """The form as it is stored; `shown` are the fields that the page has for readings, tasks and parts."""
    form: Form = MultiDict({"system": system})
    form.update({name: str(value) for name in PLAIN if (value := getattr(visit, name))})
    day, _, clock = at_site(visit.arrived_at, visit.time_zone).partition("T")
    form.update({"day": day, "arrived": clock[:5], "left_at": _clock(visit.left_at, visit.time_zone)})
    if visit.complaint:
        form.update({"symptom": visit.complaint.symptom, "words": visit.complaint.words or ""})
    form.update({"call": list(visit.calls), "crew": list(visit.crew)})
    made = Filled(form, system, shown)
    made.names = {
        "readings": [_reading(made, each, visit.time_zone) for each in visit.readings],
        "tasks": [_task(made, each) for each in visit.tasks],
        "replacements": [_replacement(made, each) for each in visit.replacements],
        "observations": [_observation(made, each) for each in visit.observations],
    }
    return made


def _clock(instant: datetime | None, zone_name: str) -> str:
    return "" if instant is None else at_site(instant, zone_name)[11:16]


def _put(made: Filled, name: str, value: str, **more: str | None) -> str:
    """The name of the field that shows a part; "" where it is taken or not on the page."""
    if name in made.form or name not in made.shown:
        return ""
    made.form[name] = value
    _, _, code = name.partition(":")
    made.form.update({f"{other}:{code}": text for other, text in more.items() if text})
    return name


def _reading(made: Filled, reading: Reading, zone_name: str) -> str:
    moment, dimension = MOMENT_OF[reading.when], reading.value.dimension
    name = ":".join((moment, reading.quantity, reading.component or "", reading.tap or ""))
    number = number_in(reading.value, unit_of(dimension, made.system))
    if reading.quantity == STRENGTH:
        way = made.form.setdefault("strength_in", dimension)
        return _put(made, name, number) if way == dimension else ""
    if dimension != BY_QUANTITY[reading.quantity].dimensions[0]:
        return ""
    if name == "left:bath_temperature::" and reading.at:
        n = sum(1 for each in made.form if each.startswith("bath:"))
        made.form.update({f"bath:{n}": number, f"bath_at:{n}": _clock(reading.at, zone_name)})
        return f"bath:{n}"
    return _put(made, name, number)


def _task(made: Filled, task: TaskResult) -> str:
    grade = task.as_found if task.task in GRADED else None
    return _put(made, f"task:{task.task}", task.result, reason=task.reason, grade=grade)


def _replacement(made: Filled, part: Replacement) -> str:
    item = part.item or Item()
    return _put(
        made, f"part:{part.component}", part.reason, condition=part.condition, note=part.note,
        reported="1" if part.evidence == "reported" else None, on=part.on,
        sure="1" if is_doubtful(part.reason, part.condition) else None,
        maker=item.maker, model=item.model, serial=item.serial,
    )  # fmt: skip


def _observation(made: Filled, seen: Observation) -> str:
    if seen.component or seen.code in made.form.getlist("seen"):
        return ""
    made.form.add("seen", seen.code)
    if seen.code == "other":
        made.form["seen_note"] = seen.note or ""
    return SEEN + seen.code


def correction(filling: Filled, sent: Form, visit: Visit, stored: Document) -> Written:
    """The fields to correct, as the API takes them; `stored` is the visit as the API takes it."""
    before, after = (
        written(form, unit=visit.unit, visit_id=visit.id, zone_name=visit.time_zone) for form in (filling.form, sent)
    )
    made = Written({}, dict(after.fields))
    for name in (*PLAIN, "arrived_at", "left_at", "complaint"):
        old, new = before.document.get(name), after.document.get(name)
        if old == new or (new is None and FIELD_OF.get(name, name) not in sent):
            continue
        made.document[name] = _merged(stored.get(name) or {}, old or {}, new) if isinstance(new, dict) else new
    for name in ("calls", "crew"):
        if before.document.get(name) != after.document.get(name):
            made.document[name] = after.document.get(name, [])
    for parts in LISTS:
        _correct_list(made, parts, filling, sent, (before, after), stored.get(parts, []))
    made.faults = after.faults if "replacements" in made.document else []
    return made


def _correct_list(  # a list of parts before and after
    made: Written, parts: str, filling: Filled, sent: Form, documents: tuple[Written, Written], stored: list[Document]
) -> None:
    before, after = (dict(_by_field(document, parts)) for document in documents)
    names = filling.names[parts]
    kept: list[tuple[str, Document]] = []
    for name, part in zip(names, stored, strict=True):
        if name in after:
            kept.append((name, _merged(part, before.get(name, {}), after[name])))
        elif name not in sent and not name.startswith(SEEN):  # the form has no field for it, or did not send it
            kept.append((name, part))
    kept += [(name, part) for name, part in after.items() if name not in names]
    listed = [part for _, part in kept]
    if listed != stored:
        made.document[parts] = listed
        made.fields |= {f"{parts}.{n}": "seen" if SEEN in name else name for n, (name, _) in enumerate(kept)}


def _by_field(document: Written, parts: str) -> Iterator[tuple[str, Document]]:
    for n, part in enumerate(document.document.get(parts, ())):
        yield SEEN + part["code"] if parts == "observations" else document.fields[f"{parts}.{n}"], part


def _merged(stored: Document, before: Document, after: Document) -> dict[str, Any]:
    """What is stored, with what differs between two documents of the form."""
    made = dict(stored)
    for name in before.keys() | after.keys():
        old, new = before.get(name), after.get(name)
        if old == new:
            continue
        if new is None:
            made.pop(name, None)
        elif isinstance(new, dict):
            made[name] = _merged(made.get(name) or {}, old or {}, new)
        else:
            made[name] = new
    return made
