"""The workbook to fill in: a sheet for each kind of record, with explanations, examples and allowed values."""

from dataclasses import dataclass
from functools import cache
from io import BytesIO
from typing import Any

import xlsxwriter  # type: ignore[import-untyped]

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.record.fleet import COMPONENT_KINDS
from service.mapping import targets
from service.mapping.blocks import heading_key
from service.mapping.model import Column, Mapping, Table
from service.workbooks.cells import Book

READ_ME = "Read me"
EXAMPLE, EXPLANATION = "e.g. ", "> "
MOST_LISTED = 200  # characters: a list in a cell may have 255
ROWS = 2000


@dataclass(frozen=True, slots=True)
class Field:
    """A column of the template."""

    heading: str
    to: str
    meaning: str
    example: str = ""
    needed: bool = False
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Form:
    """A sheet of the template."""

    name: str
    creates: tuple[str, ...]
    fields: tuple[Field, ...]


UNIT = Field("Unit", "unit.tag", "tag of the unit, as in the sheet Units", "GU-0007", needed=True)
DATE = Field("Date", "visit.date", "day of the visit, year-month-day", "2026-03-14", needed=True)
REFERENCE = Field(
    "Reference", "visit.reference", "only where a unit has several visits on one day: to keep them apart", ""
)
FORMS = (
    Form(
        "Customers",
        ("customer",),
        (
            Field("Customer", "customer.name", "name of the customer", "The Lantern Room", needed=True),
            Field("Customer code", "customer.code", "short code; made of the name if left blank", "lantern"),
            Field("Contact", "customer.contact", "whom we talk to", "Ida"),
            Field("Phone", "customer.phone", "", "555-0142"),
            Field("Email", "customer.email", "", "ida@example.com"),
        ),
    ),
    Form(
        "Technicians",
        ("technician",),
        (
            Field("Technician", "technician.name", "name of the technician", "Rhea", needed=True),
            Field("Technician code", "technician.code", "short code; made of the name if left blank", "rhea"),
            Field("Phone", "technician.phone", "", "555-0110"),
        ),
    ),
    Form(
        "Sites",
        ("site",),
        (
            Field("Site", "site.name", "name of the place", "Lantern Room, Quay", needed=True),
            Field("Site code", "site.code", "short code; made of the name if left blank", "lantern-quay"),
            Field("Customer", "customer.name", "name or code, as in the sheet Customers", "lantern", needed=True),
            Field("Time zone", "site.time_zone", "name of the IANA time zone", "America/Denver", needed=True),
            Field("Address", "site.address", "", "1 Quay Street"),
            Field("Surroundings", "site.surroundings", "air at the condenser"),
            Field("Closed weekdays", "site.closed_weekdays", "separated by commas", "monday"),
            Field("Access", "site.access", "key, parking, whom to ask", "key at the bar"),
            Field("Usual technician", "site.technician", "name or code", "Rhea"),
        ),
    ),
    Form(
        "Units",
        ("unit",),
        (
            Field("Unit", "unit.tag", "tag on its sticker", "GU-0007", needed=True),
            Field("Site", "site.name", "name or code, as in the sheet Sites", "lantern-quay", needed=True),
            Field("Place", "unit.place", "where in the building", "basement"),
            Field("Maker", "unit.maker", "", "Norvane"),
            Field("Model", "unit.model", "", "K40"),
            Field("Serial", "unit.serial", "", "12345"),
            Field("Installed on", "unit.installed_on", "year-month-day", "2021-05-02"),
            Field(
                "In our care from", "unit.registered_on", "year-month-day; its first visit if left blank", "2023-01-10"
            ),
            Field("Retired on", "unit.retired_on", "year-month-day"),
            Field("Bath volume", "unit.bath.volume", "number and unit", "10 gal"),
            Field("Glycol", "unit.bath.glycol", "kind of glycol"),
            Field("Target strength", "unit.bath.target_strength", "number and unit", "35 vol%"),
            Field("Set point", "unit.bath.set_point", "number and unit", "28 degF"),
            Field("Refrigerant", "unit.refrigeration.refrigerant", "", "R134a"),
            Field("Charge", "unit.refrigeration.charge", "number and unit", "10 oz"),
            Field("Voltage", "unit.supply.voltage", "number and unit", "115 V"),
        ),
    ),
    Form(
        "Visits",
        (),
        (
            UNIT,
            DATE,
            Field(
                "Time", "visit.time", "hours:minutes at the site; 12:00 stands for a time that is not known", "14:30"
            ),
            Field("Left", "visit.left", "hours:minutes"),
            REFERENCE,
            Field("Kind", "visit.kind", "maintenance if left blank"),
            Field("Technician", "visit.technician", "name or code; several separated by a comma", "Rhea"),
            Field("Complaint", "visit.complaint", "what the customer noticed", "first glass is warm"),
            Field("Symptom", "visit.symptom", "of the complaint"),
            Field("Work", "visit.work", "what was done; the customer may read it", "Cleaned the condenser."),
            Field("Advice", "visit.advice", "for the customer"),
            Field("Internal note", "visit.internal_note", "for the company alone"),
            Field("Outcome", "visit.outcome", "how the unit was left"),
        ),
    ),
    Form(
        "Readings",
        (),
        (
            UNIT,
            DATE,
            REFERENCE,
            Field("Quantity", "reading.quantity", "what was measured", "bath_temperature", needed=True),
            Field("Value", "reading.value", "number, or number and unit", "28", needed=True),
            Field("Unit of measure", "reading.unit", "where it does not stand with the number", "degF"),
            Field("When", "reading.when", "as_found if left blank"),
            Field("Component", "reading.component", "for a current, a voltage: where it was read"),
            Field("Tap", "reading.tap", "for beer at a tap: which"),
        ),
    ),
    Form(
        "Tasks",
        (),
        (
            UNIT,
            DATE,
            REFERENCE,
            Field("Task", "task.task", "work of preventive maintenance", "condenser_clean", needed=True),
            Field("Result", "task.result", "done if left blank"),
            Field("Reason", "task.reason", "why it was not done"),
        ),
    ),
    Form(
        "Replacements",
        (),
        (
            UNIT,
            DATE,
            REFERENCE,
            Field("Component", "replacement.component", "kind or code of the component", "pump", needed=True),
            Field("Reason", "replacement.reason", "unknown if left blank"),
            Field("Condition", "replacement.condition", "of what was taken out"),
            Field("Note", "replacement.note", ""),
            Field("Maker", "replacement.item.maker", "of the new item", "Norvane"),
            Field("Model", "replacement.item.model", ""),
            Field("Serial", "replacement.item.serial", ""),
            Field("Source", "replacement.item.source", "where it came from", "van"),
            Field("Warranty until", "replacement.item.warranty_until", "year-month-day"),
        ),
    ),
)
HELP = (
    "Fill in the sheets from left to right. Rows that begin with '>' or 'e.g.' are explanations and are not imported.",
    "Days: year-month-day (2026-03-14), or cells with a date format. Numbers with their unit: 28 degF.",
    "Blue headings are needed. A visit is found by its unit and day, and by its reference where there are several.",
    "Then: glycol-fleet import FILE --dry-run, which stores nothing and lists what is wrong; then without --dry-run.",
)


@cache
def mapping() -> Mapping:
    """The mapping of a filled-in template."""
    return Mapping(
        tables=tuple(
            Table(
                sheets=(form.name,),
                columns={field.heading: Column(to=field.to, unit=field.unit) for field in form.fields},
                creates=form.creates,
                skip_rows=(EXAMPLE, EXPLANATION),
            )
            for form in FORMS
        ),
        ignored_sheets=(READ_ME,),
    )


def is_template(book: Book) -> bool:
    """Whether a workbook has the sheets of the template with its headings."""
    names = {sheet.name: sheet for sheet in book.sheets}
    for form in FORMS:
        if form.name in names:
            known = {heading_key(field.heading) for field in form.fields}
            first = {heading_key(cell.text) for (row, _), cell in names[form.name].cells.items() if row == 1}
            return len(known & first) >= 0.8 * len(known)
    return False


def workbook() -> bytes:
    """The empty template."""
    written = BytesIO()
    book = xlsxwriter.Workbook(written, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    looks = {
        "needed": book.add_format({"bold": True, "bg_color": "#1F4E79", "font_color": "#FFFFFF", "border": 1}),
        "optional": book.add_format({"bold": True, "bg_color": "#D9D9D9", "border": 1}),
        "help": book.add_format({"italic": True, "font_color": "#595959", "text_wrap": True, "valign": "top"}),
        "wrap": book.add_format({"text_wrap": True, "valign": "top"}),
        "text": book.add_format({"num_format": "@"}),
    }
    _read_me(book, looks)
    for form in FORMS:
        _sheet(book, form, looks)
    book.close()
    return written.getvalue()


def _read_me(book: Any, looks: dict[str, Any]) -> None:
    sheet = book.add_worksheet(READ_ME)
    for n, text in enumerate(HELP):
        sheet.write_string(n, 0, text)
    row = len(HELP) + 1
    for column, heading in enumerate(("Sheet", "Column", "Needed", "Meaning", "Allowed values", "Example")):
        sheet.write_string(row, column, heading, looks["optional"])
    for form in FORMS:
        for field in form.fields:
            row += 1
            parts = (
                form.name,
                field.heading,
                "yes" if field.needed else "",
                field.meaning,
                ", ".join(_allowed(field)),
                field.example,
            )
            for column, text in enumerate(parts):
                sheet.write_string(row, column, text, looks["wrap"])
    for column, width in enumerate((14, 18, 8, 48, 70, 22)):
        sheet.set_column(column, column, width)
    _print_setup(sheet)


def _allowed(field: Field) -> tuple[str, ...]:
    if field.to == "task.task":
        return tuple(task.code for task in CATALOGUE if task.interval is not None)
    if field.to == "replacement.component":
        return COMPONENT_KINDS
    return targets.target(field.to).choices


def _sheet(book: Any, form: Form, looks: dict[str, Any]) -> None:
    sheet = book.add_worksheet(form.name)
    for column, field in enumerate(form.fields):
        allowed = _allowed(field)
        sheet.write_string(0, column, field.heading, looks["needed" if field.needed else "optional"])
        meaning = field.meaning + (f" ({', '.join(allowed)})" if allowed else "")
        sheet.write_string(1, column, (EXPLANATION if column == 0 else "") + meaning, looks["help"])
        example = field.example or (allowed[0] if allowed and not field.needed else "")
        sheet.write_string(2, column, (EXAMPLE if column == 0 else "") + example, looks["help"])
        sheet.set_column(column, column, 24 if field.to in ("visit.work", "visit.internal_note") else 18, looks["text"])
        if allowed and len(",".join(allowed)) <= MOST_LISTED:
            sheet.data_validation(
                3, column, ROWS, column, {"validate": "list", "source": list(allowed), "error_type": "warning"}
            )
    sheet.set_row(1, 60)
    sheet.freeze_panes(1, 1)
    _print_setup(sheet)
    sheet.repeat_rows(0)


def _print_setup(sheet: Any) -> None:
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.set_footer("&L&A&RPage &P of &N")
    sheet.set_margins(left=0.4, right=0.4)
