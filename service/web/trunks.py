"""The trunks of a unit: one more, and what changes in one."""

from collections.abc import Mapping
from typing import Any

from flask import Response

from service.api.auth import OFFICE
from service.api.state import actor, database
from service.domain.errors import Conflict, NotFound
from service.domain.plain import as_entered
from service.domain.record.fleet import Trunk, Unit
from service.schemas.units import UnitPatch
from service.usecases.record import units
from service.web.page import Pages
from service.web.plain_form import CHANGED, Document, Field, PlainForm, Shaped
from service.web.render import show
from service.web.unit_lists import SIZES, TRUNK, WHERE, fields_at, trunk_of

CODE = Field(name="trunk.code", label="Its name in the record", hint="such as patio; else it gets the next number")
REMOVED = Field(
    name="trunk.removed", label="This trunk", kind="ticks", options={"yes": "is not there any more"},
    hint="its runs and taps leave the unit's record; past visits stay as they are",
)  # fmt: skip
MORE_RUNS = "It has several runs in the same surroundings; their lengths are changed over the API."
pages = Pages("trunks")


@pages.get("/units/<tag>/trunks", allow=OFFICE)
def trunks(tag: str) -> Response:
    """The trunks of a unit."""
    return show("trunks.html", unit=_unit(tag), where=WHERE)


@pages.get("/units/<tag>/new-trunk", allow=OFFICE)
def new_trunk_form(tag: str) -> Response:
    """The form for one more trunk."""
    return _new(_unit(tag)).page()


@pages.post("/units/<tag>/new-trunk", allow=OFFICE)
def add_trunk(tag: str) -> Response:
    """Add a trunk."""
    return _send(_new(_unit(tag)), tag)


@pages.get("/units/<tag>/trunks/<code>", allow=OFFICE)
def trunk_form(tag: str, code: str) -> Response:
    """The form of a trunk."""
    return _of(_unit(tag), code).page()


@pages.post("/units/<tag>/trunks/<code>", allow=OFFICE)
def change_trunk(tag: str, code: str) -> Response:
    """Change a trunk, or take it out of the record."""
    return _send(_of(_unit(tag), code), tag)


def _unit(tag: str) -> Unit:
    with database().reading() as store:
        return store.units.get(tag)


def _send(form: PlainForm, tag: str) -> Response:
    def store_it(changes: Mapping[str, Any]) -> str:
        with database().writing() as store:
            former = store.units.get(tag)
            if former.version != form.version:
                raise Conflict(CHANGED)
            units.change_unit(store, actor(), former, changes)
        return f"/units/{former.tag}/trunks"

    return form.send(store_it)


def _new(unit: Unit) -> PlainForm:
    known = [as_entered(each) for each in unit.trunks]

    def shape(document: Document) -> Shaped:
        given = document.get("trunk", {})
        if not given:
            return {}, {}
        new = {"code": given.get("code") or _next(unit)} | trunk_of(given, {})
        return {"trunks": [*known, new]}, fields_at(new, len(known))

    return PlainForm(
        title="One more trunk of", about=unit.tag, button="Add it", schema=UnitPatch(partial=True),
        fields=(CODE, *TRUNK[1:]), former={}, version=unit.version, shape=shape,
    )  # fmt: skip


def _next(unit: Unit) -> str:
    used = {each.code for each in unit.trunks}
    return next(code for n in range(len(used) + 1, 2 * len(used) + 2) if (code := f"trunk-{n}") not in used)


def _of(unit: Unit, code: str) -> PlainForm:
    place = next((n for n, each in enumerate(unit.trunks) if each.code == code), None)
    if place is None:
        raise NotFound("trunk", f"{unit.tag}/{code}")
    known = [as_entered(each) for each in unit.trunks]
    listed = _fits_lengths(unit.trunks[place])

    def shape(document: Document) -> Shaped:
        given = document.get("trunk", {})
        if not given:
            return {}, {}
        if given.get("removed"):
            return {"trunks": [*known[:place], *known[place + 1 :]]}, {}
        changed = trunk_of(given, known[place])
        return {"trunks": [*known[:place], changed, *known[place + 1 :]]}, fields_at(changed, place)

    return PlainForm(
        title="Change", about=f"trunk {code} of {unit.tag}", button="Store the change", schema=UnitPatch(partial=True),
        intro="" if listed else MORE_RUNS,
        fields=(*(each for each in TRUNK[1:] if listed or not each.name.startswith("trunk.length.")), REMOVED),
        former={"trunk": _shown(known[place])}, version=unit.version, shape=shape,
    )  # fmt: skip


def _fits_lengths(trunk: Trunk) -> bool:
    """Whether the form, with one length for each kind of surroundings, shows all of its runs."""
    return len({run.surroundings for run in trunk.runs}) == len(trunk.runs)


def _shown(trunk: Mapping[str, Any]) -> dict[str, Any]:
    return {name: trunk.get(name) for name in SIZES} | {
        "length": {run["surroundings"]: run["length"] for run in trunk.get("runs", ())},
        "taps": [line["tap"] for line in trunk.get("beer_lines", ())],
    }
