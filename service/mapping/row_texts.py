"""The texts of a row, and the time of day beside its date."""

from datetime import datetime, time

from service.mapping.blocks import Row
from service.mapping.plan import Planned
from service.workbooks.cells import Cell, plain
from service.workbooks.dates import parts_of


def append(made: Planned, field: str, text: str) -> None:
    """Add a line to a text of a visit, unless it has it already."""
    former = made.body.get(field)
    if former is None or text not in former.split("\n"):
        made.body[field] = f"{former}\n{text}" if former else text


def whole_text(cell: Cell) -> str:
    """A text with its line breaks."""
    return (
        "\n".join(line for part in str(cell.value).splitlines() if (line := plain(part)))
        if isinstance(cell.value, str)
        else cell.text
    )


def texts(row: Row) -> str:
    """Everything that stands in a row."""
    return "; ".join(fact.cell.text for facts in row.facts.values() for fact in facts if fact.column)


def time_of_day(cell: Cell) -> str | None:
    """The time that stands with a day, HH:MM."""
    if isinstance(cell.value, datetime):
        return cell.value.strftime("%H:%M") if cell.value.time() != time() else None
    clock = parts_of(cell.text)[1] if isinstance(cell.value, str) else None
    return f"{clock[0]:02}:{clock[1]:02}" if clock else None
