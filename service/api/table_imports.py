"""Routes of /v1/table-imports: workbooks and CSV files by a mapping of their columns."""

from collections.abc import Mapping
from operator import attrgetter
from typing import Any

from flask import Response, request
from werkzeug.exceptions import RequestEntityTooLarge, UnsupportedMediaType

from service.api.auth import OWNER
from service.api.endpoint import Answer, Routes
from service.api.headers import attachment
from service.api.state import actor, database, state
from service.domain.errors import Fault, Invalid
from service.mapping import file as mapping_file
from service.mapping import report, template
from service.mapping.guess import guess
from service.mapping.guess_names import with_aliases
from service.mapping.model import Mapping as ColumnMapping
from service.mapping.run import Done, Wanted, carry_out
from service.schemas.table_imports import MappingGuessSchema, TableImportQuery, TableImportSchema
from service.usecases.transfer import known_names
from service.workbooks.cells import Book, Unreadable
from service.workbooks.opening import marked_copy, read_book

FORM = "multipart/form-data"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
LARGEST, LARGEST_TEXT = 32 * 2**20, mapping_file.LARGEST
FILE = {"type": "string", "format": "binary", "description": "a workbook (.xlsx) or a CSV file"}
MAPPING = {"type": "string", "description": "what the sheets and columns mean (TOML); not needed for a template"}
FILE_ALONE = {FORM: {"type": "object", "properties": {"file": FILE}, "required": ["file"]}}
WITH_MAPPING = {FORM: {"type": "object", "properties": {"file": FILE, "mapping": MAPPING}, "required": ["file"]}}
BINARY = {XLSX: {"type": "string", "format": "binary"}}
routes = Routes("table_imports")


@routes.post(
    "/v1/table-imports",
    allow=OWNER,
    query=TableImportQuery,
    answers={200: TableImportSchema, 201: TableImportSchema},
    body_media=WITH_MAPPING,
    most=attrgetter("max_import"),
)
def import_table(query: Mapping[str, Any]) -> tuple[dict[str, Any], int]:
    """Import a workbook or CSV file. Unless `keep_good`, nothing is stored if a row is wrong.

    A `dry_run` answers 200 with everything that would be stored and every fault by sheet, row and column.
    """
    mapping, book = table_of(given_file())
    wanted = Wanted(query["dry_run"], query["keep_good"], query.get("plan"))
    done = carry_out(database(), actor(), book, mapping, wanted)
    if not (done.stored or query["dry_run"]):
        raise Invalid(_faults(done), more=done.tally.more_errors)
    return report.as_json(done), 201 if done.stored else 200


@routes.post(
    "/v1/table-imports/marked-copies",
    allow=OWNER,
    answers={200: Answer(None, "The marked copy", media=BINARY)},
    body_media=WITH_MAPPING,
    most=attrgetter("max_import"),
)
def mark_table() -> Response:
    """A copy of a workbook with every fault beside its cell, as a dry run finds them; nothing is stored."""
    return marked(given_file())


def marked(raw: bytes) -> Response:
    """The marked copy of a file, by the mapping in the form."""
    mapping, book = table_of(raw)
    done = carry_out(database(), actor(), book, mapping, Wanted(dry_run=True))
    copy = readable(marked_copy, raw, "workbook", report.marks(done.plan))
    return Response(copy, 200, attachment("marked.xlsx"), content_type=XLSX)


@routes.post(
    "/v1/table-imports/mapping-guesses",
    allow=OWNER,
    answers={200: MappingGuessSchema},
    body_media=FILE_ALONE,
    most=attrgetter("max_import"),
)
def guess_mapping() -> dict[str, Any]:
    """A first guess of the mapping of a file, and what it must still say; nothing is stored."""
    return guessed(given_file(), "import it with dry_run=true")


def guessed(raw: bytes, then: str) -> dict[str, Any]:
    """The guess for a file, which names the next step."""
    book = readable(read_book, raw, None)
    with database().reading() as store:
        fleet, zones = known_names.fleet(store), list(store.sites.zones())
    made = with_aliases(guess(book, fleet, zones), book, fleet, actor().at.date())
    asked = [{"path": each.path, "question": each.text, "choices": list(each.choices)} for each in made.questions]
    return {"mapping": mapping_file.dump(made.mapping, made.remarks, then), "questions": asked}


@routes.get("/v1/table-imports/template", allow=OWNER, answers={200: Answer(None, "The template", media=BINARY)})
def get_template() -> Response:
    """An empty workbook to fill in, with explanations; filled in, it is imported without a mapping."""
    return Response(template.workbook(), 200, attachment("glycol-fleet.xlsx"), content_type=XLSX)


def limit_form() -> None:
    """Set what the form may hold; called before anything of it is read."""
    request.max_content_length = min(LARGEST, state().settings.max_import)
    request.max_form_memory_size = LARGEST_TEXT


def given_file() -> bytes:
    """The file in the form; 415 for another type of body, 413 for a file that is too large."""
    if request.mimetype != FORM:
        raise UnsupportedMediaType(f"The body must be {FORM}, not {request.mimetype[:100] or 'untyped'}.")
    limit_form()
    given = request.files.get("file")
    if given is not None:
        return bytes(given.read())
    text = request.form.get("file")
    if text is None:
        raise Invalid([Fault("file", None, "is missing: the workbook or CSV file")])
    return text.encode()


def table_of(raw: bytes) -> tuple[ColumnMapping, Book]:
    """The mapping in the form and the sheets of a file; Invalid with what is wrong in either."""
    sent = request.files.get("mapping")
    text = sent.read(LARGEST_TEXT + 1).decode("utf-8", "replace") if sent else request.form.get("mapping")
    if text is not None and len(text) > LARGEST_TEXT:
        raise RequestEntityTooLarge(f"The mapping is longer than {LARGEST_TEXT} characters.")
    mapping = mapping_file.load(text) if text else None
    book = readable(read_book, raw, mapping.encoding if mapping else None)
    if mapping is None and not template.is_template(book):
        raise Invalid([Fault("mapping", None, "is needed: this is no filled-in template")])
    return mapping or template.mapping(), book


def readable(read: Any, *given: Any) -> Any:
    """What is read from a file; Invalid where it cannot be read."""
    try:
        return read(*given)
    except Unreadable as fault:
        raise Invalid([Fault("file", None, str(fault))]) from fault


def _faults(done: Done) -> list[Fault]:
    return [
        Fault(f"{each.source.sheet}.{each.source.place}", each.given, each.message)
        for each in report.ordered(done.plan)
        if each.level == "fault"
    ]
