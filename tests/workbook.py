"""Workbooks as bytes."""

from collections.abc import Iterable
from io import BytesIO
from typing import Any

import openpyxl


def saved(book: Any) -> bytes:
    """The bytes of a workbook."""
    written = BytesIO()
    book.save(written)
    return written.getvalue()


def workbook(**sheets: Iterable[Iterable[Any]]) -> bytes:
    """The bytes of a workbook with these sheets of rows."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(tuple(row))
    return saved(book)
