"""Importing a workbook or CSV file: what its columns mean, a trial with every remark by its cell, then storing it."""

from typing import Any

from flask import Response, current_app, g, request

from service.api import table_imports
from service.api.auth import OWNER
from service.api.state import actor, database, now
from service.domain.errors import Conflict, DomainError, Fault, Invalid
from service.mapping import report
from service.mapping.run import PlanChanged, Wanted, carry_out
from service.web.kept_files import KeptFiles
from service.web.page import Pages
from service.web.render import show

MOST_SHOWN = 200
THEN = "press Try the file"
NOT_KEPT = "Choose the file again: it is kept for half an hour, and not across a restart of the server."
pages = Pages("tables")


@pages.get("/data/tables", allow=OWNER)
def table_form() -> Response:
    """The form, with a template to fill in."""
    return _page()


@pages.get("/data/tables/template", allow=OWNER)
def template() -> Response:
    """An empty workbook that is imported without a mapping."""
    return table_imports.get_template()


@pages.post("/data/tables", allow=OWNER, takes_file=True)
def take_table() -> Response:
    """Guess what the columns mean, try the file, mark its faults in a copy, or store it as the trial showed it."""
    table_imports.limit_form()
    try:
        match request.form.get("do"):
            case "guess":
                guessed = table_imports.guessed(_file(), THEN)
                return _page(mapping=guessed["mapping"], questions=guessed["questions"])
            case "mark":
                return table_imports.marked(_file())
            case how:
                return _carried_out(dry_run=how != "store")
    except (Invalid, Conflict, PlanChanged) as refusal:
        return _page(refusal=refusal, mapping=request.form.get("mapping", ""))


def _carried_out(*, dry_run: bool) -> Response:
    mapping, book = table_imports.table_of(_file())
    wanted = Wanted(dry_run, bool(request.form.get("keep_good")), request.form.get("plan") or None)
    done = report.as_json(carry_out(database(), actor(), book, mapping, Wanted(dry_run=True) if dry_run else wanted))
    return _page(done=done, mapping=request.form.get("mapping", ""), tried=dry_run)


def _file() -> bytes:
    """The file that was chosen, kept for the next step; else the one that is kept."""
    chosen = request.files.get("file")
    named = bool(chosen.filename) if chosen is not None else "file" in request.form or "kept" not in request.form
    if named:
        raw, name = table_imports.given_file(), (chosen.filename or "") if chosen else "the file"
        g.kept = (name, _kept().keep(g.session.id, name, raw, now()))
        return raw
    digest = request.form.get("kept", "")
    found = _kept().get(g.session.id, digest, now())
    if found is None:
        raise Invalid([Fault("file", None, NOT_KEPT)])
    g.kept = (found[0], digest)
    return found[1]


def _kept() -> KeptFiles:
    held: KeptFiles = current_app.extensions.setdefault("kept-files", KeptFiles())
    return held


def _page(
    *, done: dict[str, Any] | None = None, refusal: DomainError | None = None, mapping: str = "",
    questions: list[dict[str, Any]] | None = None, tried: bool = False,
) -> Response:  # fmt: skip
    faults = [f"{fault.field}: {fault.message}" for fault in getattr(refusal, "faults", ())]
    refused = refusal is not None or (done is not None and not tried and not done["stored"])
    return show(
        "tables.html", status=422 if refused else 200, done=done, mapping=mapping, tried=tried,
        general=faults or ([str(refusal)] if refusal else []), questions=questions or [], kept=g.get("kept"),
        most=MOST_SHOWN,
    )  # fmt: skip
