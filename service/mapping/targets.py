"""The fields that a column can be mapped to: those of the API, under the names of the API."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from marshmallow import Schema, fields

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.record.fleet import COMPONENT_KINDS, WEEKDAYS
from service.domain.record.readings import READING_KINDS
from service.domain.record.visits import CONDITIONS, EVIDENCE, KINDS, MOMENTS, OBSERVATIONS, OUTCOMES, REASONS, SYMPTOMS
from service.schemas.fields import Choice, Code, Count, Day, Flag, Measure, Number, TimeZone
from service.schemas.fleet import CustomerSchema, SiteSchema, TechnicianSchema
from service.schemas.imprecise_days import ImpreciseDay
from service.schemas.suggestions import did_you_mean
from service.schemas.units import UnitSchema

SCHEMAS = {
    "customer": CustomerSchema(),
    "site": SiteSchema(),
    "unit": UnitSchema(),
    "technician": TechnicianSchema(),
}
TASKS = tuple(task.code for task in CATALOGUE if task.interval is not None)
QUANTITIES = tuple(kind.quantity for kind in READING_KINDS)
TEXT, PERSON = "text", "person"


@dataclass(frozen=True, slots=True)
class Target:
    """A field: how its cells are read, which values it takes, in which dimensions it is measured."""

    name: str
    kind: str
    choices: tuple[str, ...] = ()
    dimensions: tuple[str, ...] = ()
    past: bool = False

    @property
    def record(self) -> str:
        """Whose field it is."""
        return self.name.partition(".")[0]

    @property
    def field(self) -> str:
        """The path within the record."""
        return self.name.partition(".")[2]


VISIT = (
    Target("visit.date", "day", past=True),
    Target("visit.time", "time"),
    Target("visit.left", "time"),
    Target("visit.reference", TEXT),
    Target("visit.kind", "choice", KINDS),
    Target("visit.technician", PERSON),
    Target("visit.work", TEXT),
    Target("visit.advice", TEXT),
    Target("visit.internal_note", TEXT),
    Target("visit.complaint", TEXT),
    Target("visit.symptom", "choice", SYMPTOMS),
    Target("visit.outcome", "choice", OUTCOMES),
    Target("visit.signed_by", TEXT),
    Target("visit.part_used", TEXT),
    Target("reading.quantity", "choice", QUANTITIES),
    Target("reading.value", "measure"),
    Target("reading.unit", TEXT),
    Target("reading.when", "choice", MOMENTS),
    Target("reading.component", TEXT),
    Target("reading.tap", TEXT),
    Target("task.task", "choice", TASKS),
    Target("task.result", "choice", ("done", "not_done", "not_needed")),
    Target("task.reason", TEXT),
    Target("replacement.component", TEXT),
    Target("replacement.kind", "choice", COMPONENT_KINDS),
    Target("replacement.reason", "choice", REASONS),
    Target("replacement.condition", "choice", CONDITIONS),
    Target("replacement.evidence", "choice", EVIDENCE),
    Target("replacement.on", "day", past=True),
    Target("replacement.note", TEXT),
    Target("replacement.item.maker", TEXT),
    Target("replacement.item.model", TEXT),
    Target("replacement.item.serial", TEXT),
    Target("replacement.item.source", TEXT),
    Target("replacement.item.warranty_until", "day"),
    Target("observation.code", "choice", OBSERVATIONS),
    Target("observation.note", TEXT),
    *(Target(f"task.{code}", "mark") for code in TASKS),
    *(Target(f"reading.{kind.quantity}", "measure", dimensions=kind.dimensions) for kind in READING_KINDS),
    *(Target(f"replacement.{kind}", "mark") for kind in COMPONENT_KINDS),
    Target("note", TEXT),
    Target("skip", TEXT),
)


@cache
def targets() -> dict[str, Target]:
    """Every target by its name."""
    own = {target.name: target for record, schema in SCHEMAS.items() for target in _of_schema(record, schema)}
    return own | {target.name: target for target in VISIT}


def target(name: str) -> Target:
    """The target of a name; ValueError with what was probably meant."""
    known = targets().get(name)
    if known is None:
        raise ValueError(f"there is no field {name!r}.{did_you_mean(name, targets())}")
    return known


def _of_schema(record: str, schema: Schema) -> Iterator[Target]:
    for name, field in schema.load_fields.items():
        path = f"{record}.{name}"
        if isinstance(field, fields.Nested) and not isinstance(field, fields.List):
            yield from _of_schema(path, field.schema)
        elif not isinstance(field, fields.List):
            yield _of_field(path, field)
        elif name == "closed_weekdays":
            yield Target(path, "weekdays", WEEKDAYS)


def _of_field(path: str, field: "fields.Field[object]") -> Target:
    if path == "site.technician":
        return Target(path, PERSON)
    if isinstance(field, Measure):
        return Target(path, "measure", dimensions=field.dimensions)
    if isinstance(field, Choice):
        return Target(path, "choice", tuple(field.json_schema["enum"]))
    kinds: list[tuple[type[fields.Field[Any]], str]] = [(Code, "code"), (Day, "day"), (ImpreciseDay, "month")]
    kinds += [(TimeZone, "zone"), (Flag, "flag")]
    kinds += [(Count, "count"), (Number, "number")]
    return Target(path, next((kind for known, kind in kinds if isinstance(field, known)), TEXT))
