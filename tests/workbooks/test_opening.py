"""Files as people send them, and as nobody should: each is read, or refused by a clear sentence within its limits."""

import struct
import zipfile
from datetime import date, datetime
from io import BytesIO

import openpyxl
import pytest
from openpyxl.comments import Comment

from service.workbooks import archive, csv_file, reader
from service.workbooks.cells import Unreadable
from service.workbooks.opening import marked_copy, read_book
from tests.workbook import saved

HEAD = '<?xml version="1.0" encoding="UTF-8"?>'
SHEET_NS = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


def with_part(raw, name, content):
    """The workbook with one part replaced."""
    written = BytesIO()
    with zipfile.ZipFile(BytesIO(raw)) as old, zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.namelist():
            new.writestr(part, content if part == name else old.read(part))
    return written.getvalue()


def plain_book():
    book = openpyxl.Workbook()
    book.active["A1"] = "Date"
    return saved(book)


def refusal(raw):
    with pytest.raises(Unreadable) as caught:
        read_book(raw)
    return str(caught.value)


def test_values_formats_comments_and_merged_cells_are_read():
    book = openpyxl.Workbook()
    sheet = book.active
    sheet["A1"], sheet["B1"], sheet["C1"] = datetime(2026, 3, 14), 0.35, "007"
    sheet["B1"].number_format = "0%"
    sheet["C1"].comment = Comment("as on the sticker", "Ida")
    sheet["A2"] = "GU-0001"
    sheet.merge_cells("A2:A4")
    sheet.row_dimensions[3].hidden = True

    (read,) = read_book(saved(book)).sheets

    assert read.cells[1, 1].value == datetime(2026, 3, 14)
    assert (read.cells[1, 2].value, read.cells[1, 2].number_format) == (0.35, "0%")
    assert (read.cells[1, 3].value, read.cells[1, 3].comment) == ("007", "as on the sticker")
    assert [read.cells[row, 1].value for row in (2, 3, 4)] == ["GU-0001"] * 3
    assert read.hidden_rows == {3}


def test_dates_count_from_1904_where_the_workbook_does():
    book = openpyxl.Workbook()
    book.epoch = datetime(1904, 1, 1)
    book.active["A1"] = date(2026, 3, 14)

    read = read_book(saved(book))

    assert read.sheets[0].cells[1, 1].value == datetime(2026, 3, 14)
    assert read.epoch == date(1904, 1, 1)


def test_a_formula_without_a_result_is_reported_not_lost():
    book = openpyxl.Workbook()
    book.active["B2"] = "=1+1"

    assert "1 formulas have no stored result, the first in B2" in read_book(saved(book)).remarks[0]


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "empty"),
        (archive.OLE + b"\x00" * 600, "old .xls workbook, or one that is protected"),
        (b"<html><table><tr><td>Date</td></tr></table></html>", "web page"),
        (b"%PDF-1.7", "PDF"),
        (b"PK\x03\x04 broken", "damaged"),
        (b"a\x00b;c\n", "NUL"),
    ],
)
def test_another_kind_of_file_is_named(raw, words):
    assert words in refusal(raw)


def test_a_zip_that_is_no_workbook_is_named():
    written = BytesIO()
    with zipfile.ZipFile(written, "w") as made:
        made.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")

    assert ".ods" in refusal(written.getvalue())


def test_a_zip_bomb_is_refused_before_it_is_unpacked():
    bomb = with_part(plain_book(), "xl/worksheets/sheet1.xml", HEAD + " " * 80_000_000)

    assert len(bomb) < 200_000
    assert "unpacks to" in refusal(bomb)


def test_entities_are_not_expanded():
    laughs = '<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "' + "&a;" * 100 + '"><!ENTITY c "' + "&b;" * 100 + '">'
    laughs += '<!ENTITY d "' + "&c;" * 100 + '"><!ENTITY e "' + "&d;" * 100 + '">]>'
    row = '<row r="1"><c r="A1" t="inlineStr"><is><t>&e;</t></is></c></row>'
    body = f"{HEAD}{laughs}<worksheet {SHEET_NS}><sheetData>{row}</sheetData></worksheet>"

    assert "cannot be read" in refusal(with_part(plain_book(), "xl/worksheets/sheet1.xml", body))


def test_cells_in_opposite_corners_cost_nothing():
    book = openpyxl.Workbook()
    book.active["A1"], book.active["XFD1048576"] = "first", "last"

    (read,) = read_book(saved(book)).sheets

    assert [cell.value for cell in read.cells.values()] == ["first", "last"]


def test_too_many_cells_are_refused(monkeypatch):
    monkeypatch.setattr(reader, "MOST_CELLS", 3)
    book = openpyxl.Workbook()
    for n in range(1, 5):
        book.active.cell(n, 1, n)

    with pytest.raises(reader.TooMuch, match="more than 3 cells"):
        reader.read(saved(book))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("delimiter", [";", ",", "\t"])
def test_csv_is_read_whatever_its_encoding_and_delimiter(encoding, delimiter):
    lines = [delimiter.join(("Date", "Unit", "Note")), delimiter.join(("14.3.2026", "GU-0001", "Café, naïve"))]
    if delimiter == ",":
        lines[1] = '14.3.2026,GU-0001,"Café, naïve"'
    (read,) = read_book("\r\n".join(lines).encode(encoding)).sheets

    assert [cell.value for cell in read.cells.values()] == [
        "Date",
        "Unit",
        "Note",
        "14.3.2026",
        "GU-0001",
        "Café, naïve",
    ]


def test_the_encoding_is_decided_by_the_whole_file():
    raw = ("Date;Note\n" + "1.1.2026;x\n" * 2000).encode() + "2.1.2026;Zoë\n".encode("cp1252")

    assert read_book(raw).sheets[0].cells[2002, 2].value == "Zoë"


def test_bytes_that_are_in_neither_encoding_are_refused():
    assert "encoding" in refusal(b"Date;Note\n1.1.2026;\x81\x8d\n")


def test_decimal_commas_are_found_for_the_whole_file():
    assert read_book(b"Date;Bath\n1.1.2026;-2,5\n2.1.2026;1.234,50\n").decimal_comma
    assert not read_book(b"Date,Bath\n2026-01-01,2.5\n").decimal_comma


def test_a_marked_copy_has_colour_comment_and_text_and_leaves_the_rest():
    book = openpyxl.Workbook()
    book.active.append(["Date", "Unit"])
    book.active.append(["31.2.2026", "=A1"])
    book.active["A2"].comment = Comment("as written", "Ida")
    raw = saved(book)

    copy = openpyxl.load_workbook(BytesIO(marked_copy(raw, "a.xlsx", [("Sheet", 2, 1, "fault: no day")])))

    sheet = copy.active
    assert sheet["A2"].comment.text == "as written\nfault: no day"
    assert sheet["A2"].fill.fgColor.rgb == "FFFFC7CE"
    assert (sheet["C1"].value, sheet["C2"].value) == ("Import: what is wrong", "fault: no day")
    assert sheet["B2"].value == "=A1"


def test_a_marked_copy_of_csv_is_a_workbook_without_formulas():
    raw = b"Date;Note\n31.2.2026;=HYPERLINK(1)\n"

    copy = openpyxl.load_workbook(BytesIO(marked_copy(raw, "a.csv", [("CSV", 2, 1, "fault: no day")])))

    assert copy.active["B2"].data_type == "s"
    assert copy.active["C2"].value == "fault: no day"


def test_a_part_that_understates_its_size_is_refused():
    raw = bytearray(plain_book())
    central = raw.rfind(b"PK\x01\x02")
    struct.pack_into("<I", raw, central + 24, 3)

    assert "cannot be read" in refusal(bytes(raw))


def test_equal_cells_of_a_csv_file_are_kept_once() -> None:
    cells = read_book(b"Date,Unit\n2026-03-14,GU-0001\n2026-03-14,GU-0001\n").sheets[0].cells

    assert (cells[2, 1] is cells[3, 1], cells[2, 2] is cells[3, 2]) == (True, True)


@pytest.mark.parametrize("limit", [{"MOST_RECORDS": 3}, {"MOST_CELLS": 5}, {"MOST_COLUMNS": 1}])
def test_a_csv_file_too_large_for_memory_is_refused_with_what_to_do(limit, monkeypatch) -> None:
    raw = b"a,b\n1,2\n3,4\n5,6\n"
    assert len(read_book(raw).sheets[0].cells) == 8
    for name, value in limit.items():
        monkeypatch.setattr(csv_file, name, value)

    with pytest.raises(Unreadable, match=r"more than .* Split it, such as by years"):
        read_book(raw)
