"""Import a file of tables by a mapping: the plan, then the import that JSON Lines have too."""

from dataclasses import dataclass
from datetime import date

from service.domain.audit import Actor
from service.domain.errors import DomainError, Fault, Invalid
from service.mapping import file
from service.mapping.blocks import Row, Skipped, is_in, rows_of
from service.mapping.convert import Context
from service.mapping.fleet_rows import NAMED_BY, ORDER, FleetRows
from service.mapping.model import Mapping
from service.mapping.plan import CHECK, FAULT, LEFT_OUT, Plan, Planned, Source
from service.mapping.unused import is_record, remark_unused
from service.mapping.visit_rows import VisitRows
from service.schemas.reading import MISSING
from service.schemas.transfer import line_of
from service.usecases.system import FleetDatabase
from service.usecases.transfer import importing, known_names
from service.usecases.transfer.import_tally import Tally
from service.usecases.transfer.known_names import Fleet
from service.workbooks.cells import Book, Sheet

__all__ = ["Done", "PlanChanged", "carry_out", "make_plan"]
RETIRED = "retired_on"
NO_SITE = 'names no site or customer; where a blank stands for the cell above, give its column blank = "above"'
CHANGED = "file, mapping or database have changed. Look at a new dry run."


class PlanChanged(DomainError):
    """What would be stored is not what the dry run showed."""


@dataclass(frozen=True, slots=True)
class Done:
    """The plan and what the import did of it; `stored` is whether anything was."""

    plan: Plan
    tally: Tally
    stored: bool

    @property
    def faults(self) -> bool:
        """Whether anything keeps the file from being imported whole."""
        return bool(self.plan.faults)


def make_plan(book: Book, mapping: Mapping, fleet: Fleet, today: date) -> Plan:
    """The records of a file, with every remark; Invalid while the mapping has unanswered questions."""
    open_questions = file.unanswered(mapping)
    if open_questions:
        raise Invalid(Fault(f"mapping.{path}", "?", "is not answered yet") for path in open_questions)
    plan, skipped = Plan(), dict[str, Skipped]()
    comma = mapping.decimal == "comma" if mapping.decimal else book.decimal_comma
    context = Context(mapping, today, book.epoch, comma)
    people = FleetRows(fleet, context, plan)
    rows = [row for row in rows_of(book, mapping.tables, skipped) if is_record(row, plan)]
    people.note_spellings(rows)
    for kind in ORDER:
        for row in sorted(rows, key=lambda row: kind == "unit" and row.first(*NAMED_BY["unit"]) is None):
            _safely(people, kind, row, plan)  # rows that name no unit last: they mean their site's only one
    visits = VisitRows(people, context, plan)
    visits.take_all([row for row in rows if row.is_visit])
    made = list(visits.records())
    _register(people, made)
    fleet_records = list(people.records())
    plan.known = people.known
    plan.records = [*fleet_records, *made, *_retirements(fleet_records)]
    remark_unused(rows, plan)
    _remark_rest(book, mapping, skipped, plan)
    return plan


def _safely(people: FleetRows, kind: str, row: Row, plan: Plan) -> None:
    try:
        people.take(kind, row)
    except ValueError as fault:
        plan.remark(FAULT, Source(row.sheet, row.number, 0), "", str(fault))


def _register(people: FleetRows, visits: list[Planned]) -> None:
    """A unit that is new is in our care from its first visit, where the file does not say from when."""
    first: dict[str, date] = {}
    for visit in visits:
        first.setdefault(visit.body["unit"], date.fromisoformat(visit.body["arrived_at"][:10]))
    for (kind, tag), made in people.made.items():
        if kind == "unit" and tag in first and tag not in people.registered and "registered_on" not in made.body:
            made.body["registered_on"] = first[tag].isoformat()


def _retirements(records: list[Planned]) -> list[Planned]:
    """Lines that retire units, after all visits: a visit must not be later than its unit's retirement."""
    made = []
    for record in records:
        if record.kind == "unit" and RETIRED in record.body:
            day = record.body.pop(RETIRED)
            line = Planned("unit", {"tag": record.body["tag"], "site": record.body.get("site", "")}, record.source)
            line.set(RETIRED, day, record.cells.get(RETIRED, record.source))
            made.append(line)
    return made


def _remark_rest(book: Book, mapping: Mapping, skipped: dict[str, Skipped], plan: Plan) -> None:
    """What was read and is no record: sheets, cells beside the tables, comments, colours, lines through."""
    for text in book.remarks:
        plan.remark(CHECK, Source("", 0, 0), "", text)
    for sheet in book.sheets:
        if not any(is_in(sheet.name, table.sheets) for table in mapping.tables) or is_in(
            sheet.name, mapping.ignored_sheets
        ):
            plan.remark(
                LEFT_OUT,
                Source(sheet.name, 0, 0),
                "",
                f"the sheet with {len(sheet.cells)} cells is in no table of the mapping",
            )
            continue
        for row, column, text, why in skipped.get(sheet.name, Skipped()).cells:
            plan.remark(LEFT_OUT, Source(sheet.name, row, column), text, why)
        for (row, column, heading), count in skipped.get(sheet.name, Skipped()).columns.items():
            why = f"{count} cell{'s' if count > 1 else ''} below: the mapping skips the column"
            plan.remark(LEFT_OUT, Source(sheet.name, row, column), heading, why)
        _remark_looks(sheet, plan)


def _remark_looks(sheet: Sheet, plan: Plan) -> None:
    for (row, column), cell in sheet.cells.items():
        if cell.comment:
            plan.remark(LEFT_OUT, Source(sheet.name, row, column), cell.comment, "a comment")
        if cell.struck:
            plan.remark(
                CHECK, Source(sheet.name, row, column), cell.text, "is struck through and imported all the same"
            )
    coloured = sum(cell.coloured for cell in sheet.cells.values())
    if coloured:
        plan.remark(
            LEFT_OUT, Source(sheet.name, 0, 0), "", f"{coloured} coloured cells: what a colour means is not imported"
        )
    if sheet.hidden or sheet.hidden_rows or sheet.hidden_columns:
        what = (
            "the sheet is"
            if sheet.hidden
            else f"{len(sheet.hidden_rows)} rows and {len(sheet.hidden_columns)} columns are"
        )
        plan.remark(CHECK, Source(sheet.name, 0, 0), "", f"{what} hidden and imported all the same")


def carry_out(database: FleetDatabase, actor: Actor, book: Book, mapping: Mapping, wanted: "Wanted") -> Done:
    """Import a file, or on a dry run only show what would be stored, in one transaction.

    The lock of writers is held for the import alone. PlanChanged when the plan is not the one `expected`.
    """
    with database.reading() as store:
        fleet = known_names.fleet(store)
    plan, stored = make_plan(book, mapping, fleet, actor.at.date()), False
    if wanted.expected and plan.key != wanted.expected:
        raise PlanChanged(f"The plan is {plan.key} and not {wanted.expected}: {CHANGED}")
    only_shown = wanted.dry_run or (plan.faults and not wanted.keep_good)
    try:
        with database.writing() as store:
            lines = (line_of(n, each.kind, dict(each.body)) for n, each in enumerate(plan.records))
            tally = importing.import_records(store, actor, lines, keep_good=wanted.keep_good, dry_run=bool(only_shown))
            stored = True
    except (importing.NothingStored, importing.Rehearsed) as ended:
        tally = ended.tally
    for error in tally.errors:
        record = plan.records[error.line]
        given = "" if error.value is None else str(error.value)
        without_site = (record.kind, error.field, error.message) == ("unit", "site", MISSING)
        message = NO_SITE if without_site else f"{record.kind}, {error.field}: {error.message}"
        plan.remark(FAULT, record.source_of(error.field), given, message)
    return Done(plan, tally, stored)


@dataclass(frozen=True, slots=True)
class Wanted:
    """How to import: only to show, with the valid records alone, and only if the plan is this one."""

    dry_run: bool = False
    keep_good: bool = False
    expected: str | None = None
