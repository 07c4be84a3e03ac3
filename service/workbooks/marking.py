"""Mark cells of a workbook in a copy of it: colour, comment, and a column of text."""

from collections.abc import Mapping
from io import BytesIO
from typing import Any

HEADING = "Import: what is wrong"
COLOUR = "FFFFC7CE"
LONGEST = 2000


def mark(raw: bytes, head: Mapping[str, Any]) -> bytes:
    """The copy; `head` has the marks, and the cells of a table that was no workbook."""
    import openpyxl

    book = (
        _of_cells(head) if "cells" in head else openpyxl.load_workbook(BytesIO(raw), rich_text=True, keep_links=False)
    )
    for name in dict.fromkeys(mark[0] for mark in head["marks"]):
        if name in book.sheetnames:
            _mark_sheet(book[name], [mark[1:] for mark in head["marks"] if mark[0] == name])
    if head.get("lost"):
        _remark(book, head["lost"])
    written = BytesIO()
    book.save(written)
    return written.getvalue()


def _of_cells(head: Mapping[str, Any]) -> Any:
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = head["sheet"]
    for row, column, text in head["cells"]:
        _write(sheet, row, column, text)
    return book


def _write(sheet: Any, row: int, column: int, text: str) -> Any:
    """A cell of text, also where it begins as a formula does."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    cell = sheet.cell(row, column, ILLEGAL_CHARACTERS_RE.sub("", text)[:LONGEST])
    cell.data_type = "s"
    return cell


def _mark_sheet(sheet: Any, marks: list[list[Any]]) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import Alignment, PatternFill

    beyond = 1 + max((column for _, column in sheet._cells), default=0)
    fill = PatternFill("solid", fgColor=COLOUR)
    _write(sheet, max(1, min(row for row, _, _ in marks) - 1), beyond, HEADING)
    texts: dict[int, list[str]] = {}
    for row, column, text in marks:
        texts.setdefault(row, []).append(text)
        if column:
            cell = sheet.cell(row, column)
            if type(cell).__name__ != "MergedCell":
                former = f"{cell.comment.text}\n" if cell.comment else ""
                cell.comment = Comment((former + text)[:LONGEST], "glycol-fleet", height=120, width=300)
                cell.fill = fill
    for row, lines in texts.items():
        cell = _write(sheet, row, beyond, "; ".join(lines))
        cell.fill, cell.alignment = fill, Alignment(wrap_text=True, vertical="top")
    sheet.column_dimensions[sheet.cell(1, beyond).column_letter].width = 70


def _remark(book: Any, lost: list[str]) -> None:
    sheet = book.create_sheet("About this copy")
    _write(sheet, 1, 1, f"This copy lacks what cannot be copied: {', '.join(lost)}. The original is unchanged.")
