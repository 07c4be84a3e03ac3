"""Setting a stored visit right: correcting it, moving it to the right unit, voiding it and taking the void back."""

from collections.abc import Callable, Mapping
from typing import Any

import orjson
from flask import Response, request
from marshmallow import Schema

from service.api.auth import STAFF
from service.api.state import actor, caller, database, now
from service.domain.errors import Conflict, DomainError, Fault, Invalid
from service.domain.plain import as_entered
from service.domain.record.visits import Visit
from service.schemas.reading import read
from service.schemas.visits import MoveSchema, UnvoidSchema, VisitCorrectionSchema, VoidSchema
from service.usecases.record import attendance_shares, moved_visits, site_clock, visits
from service.usecases.system import Store
from service.web.page import Pages, see_other
from service.web.render import show
from service.web.stored_form import LISTS, Filled, correction, filled
from service.web.visit_document import MOMENTS, STRENGTH, Form, Written
from service.web.visit_fields import fields_of
from service.web.visits import shown_visit

CHANGED = "The visit has changed since this page was opened; it is shown here as it is now."
CORRECTION = VisitCorrectionSchema(partial=("kind", "arrived_at"))
FEWEST_BATH_ROWS = 3
IN_WORDS = ("quantity", "task", "component", "tap", "code", "value", "when", "result", "reason", "note")
pages = Pages("corrections")


@pages.get("/visits/<visit_id>/correct", allow=STAFF)
def correction_form(visit_id: str) -> Response:
    """The form of the visit, filled in with what is stored."""
    with database().reading() as store:
        visit = store.visits.get(visit_id.lower())
    return see_other(f"/visits/{visit.id}") if visit.void else _form(visit)


@pages.post("/visits/<visit_id>/correct", allow=STAFF)
def correct(visit_id: str) -> Response:
    """Store what differs from the visit as it is stored; the former text is kept with the reason."""
    with database().reading() as store:
        visit = store.visits.get(visit_id.lower())
        filling = _filled(visit, fields_of(store, store.log_of(visit.unit), now(), caller(), visit))
    if request.form.get("version") != str(visit.version):
        return _form(visit, refusal=Conflict(CHANGED))
    made = correction(filling, request.form, visit, visits.body_of(visit))
    try:
        _store(visit, made)
    except (Invalid, Conflict) as refusal:
        return _form(visit, sent=request.form, made=made, refusal=refusal)
    return see_other(f"/visits/{visit.id}")


def _store(seen: Visit, made: Written) -> None:
    why = request.form.get("why", "").strip()
    if not made.document:
        raise Conflict("Nothing in the form differs from what is stored.")
    document = made.document | ({"why": why} if why else {})
    body = read(CORRECTION, document)
    if made.faults:
        raise Invalid(made.faults)
    with database().writing() as store:
        former = store.visits.get(seen.id)
        if former.version != seen.version:
            raise Conflict(CHANGED)
        changes, text = site_clock.of_correction(store, former, body, orjson.dumps(document).decode())
        attendance_shares.check_correction(former, changes)
        visits.correct_visit(store, actor(), former, changes, body=text)


def _form(
    visit: Visit, *, sent: Form | None = None, made: Written | None = None, refusal: DomainError | None = None
) -> Response:
    with database().reading() as store:
        fields = fields_of(store, store.log_of(visit.unit), now(), caller(), visit)
    filling = _filled(visit, fields)
    named: dict[str, list[str]] = {}
    faults: tuple[Fault, ...] = getattr(refusal, "faults", ())
    for fault in faults:
        named.setdefault(made.field_of(fault.field) if made else fault.field, []).append(fault.message)
    form = filling.form if sent is None else sent
    timed = [int(name[5:]) for name in form if name.startswith("bath:") and name[5:].isdecimal()]
    return show(
        "visit_form.html", status=422 if refusal else 200, **fields, form=form, faults=named, correcting=visit,
        general=(str(refusal),) if refusal and not named else (), assessment=None, kept=_kept(visit, filling),
        bath_rows=max(FEWEST_BATH_ROWS, *(n + 2 for n in timed), 0),
    )  # fmt: skip


def _filled(visit: Visit, fields: Mapping[str, Any]) -> Filled:
    rows = (*fields["main_rows"], *(row for group in fields["groups"] for row in group.rows))
    shown = {f"{moment}:{name}" for moment in MOMENTS for name in (f"{STRENGTH}::", *(row.name for row in rows))}
    shown |= {f"task:{task.code}" for task in (*fields["other_tasks"], *(each.task for each in fields["due"]))}
    shown |= {f"part:{part.code}" for part in fields["components"]}
    return filled(visit, shown, fields["system"])


def _kept(visit: Visit, filling: Filled) -> list[str]:
    """What the form cannot show, in words."""
    hidden = [
        " ".join(str(part.get(key, "")) for key in IN_WORDS if key in part).replace("_", " ")
        for name in LISTS
        for part, shown_by in zip(as_entered(visit).get(name, ()), filling.names[name], strict=True)
        if not shown_by
    ]
    return [*hidden, *(part.description for part in visit.parts_used)]


@pages.post("/visits/<visit_id>/void", allow=STAFF)
def void(visit_id: str) -> Response:
    """Void a visit: it stays in the record and does not count."""
    return _changed(
        visit_id, VoidSchema(), lambda store, former, given: visits.void_visit(store, actor(), former, given["reason"])
    )


@pages.post("/visits/<visit_id>/unvoid", allow=STAFF)
def unvoid(visit_id: str) -> Response:
    """Take the void of a visit back: it counts again."""
    return _changed(
        visit_id,
        UnvoidSchema(),
        lambda store, former, given: visits.unvoid_visit(store, actor(), former, given["reason"]),
    )


@pages.post("/visits/<visit_id>/move", allow=STAFF)
def move(visit_id: str) -> Response:
    """Move a visit to the unit at which it was made."""
    return _changed(
        visit_id,
        MoveSchema(),
        lambda store, former, given: moved_visits.move_visit(store, actor(), former, given["unit"], given["reason"]),
    )


def _changed(visit_id: str, schema: Schema, change: Callable[[Store, Visit, Mapping[str, Any]], object]) -> Response:
    """Change a visit that was seen in the version of the form."""
    sent = {name: text for name in schema.fields if (text := request.form.get(name, "").strip())}
    try:
        given = read(schema, sent)
        with database().writing() as store:
            former = store.visits.get(visit_id.lower())
            if request.form.get("version") != str(former.version):
                raise Conflict(CHANGED)
            change(store, former, given)
    except (Invalid, Conflict) as refusal:
        return shown_visit(visit_id, refusal)
    return see_other(f"/visits/{former.id}")
