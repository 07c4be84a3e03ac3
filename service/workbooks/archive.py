"""What a workbook file is, by its bytes, and whether it may be unpacked."""

from io import BytesIO
from zipfile import BadZipFile, ZipFile

from service.workbooks.cells import Unreadable

MOST_BYTES, MOST_IN_A_PART, MOST_RATIO, MOST_PARTS = 200 * 2**20, 100 * 2**20, 200, 2000
SMALL = 2**20  # a part below this may be packed as tightly as it likes
OLE = bytes.fromhex("D0CF11E0A1B11AE1")
LOST = {
    "xl/media/": "pictures",
    "xl/drawings/": "drawings, shapes and text boxes",
    "xl/ctrlProps/": "buttons and check boxes",
    "vbaProject.bin": "macros",
    "xl/slicers/": "slicers",
    "xl/pivotTables/": "pivot tables",
}


def is_workbook(raw: bytes) -> bool:
    """Whether the bytes are those of a workbook; Unreadable for other files that a spreadsheet program writes."""
    if raw.startswith(OLE):
        raise Unreadable(
            "This is an old .xls workbook, or one that is protected by a password, whatever its name ends with. "
            "Open it in a spreadsheet program and save it as .xlsx without a password."
        )
    if raw[:512].lstrip(b"\xef\xbb\xbf \t\r\n").lower().startswith((b"<!doctype html", b"<html", b"<table", b"<?xml")):
        raise Unreadable("This is a web page or an XML file, not a workbook. Open it and save it as .xlsx or .csv.")
    if raw.startswith(b"%PDF"):
        raise Unreadable("This is a PDF. Export the table as .xlsx or .csv.")
    return raw.startswith(b"PK")


def check(raw: bytes) -> tuple[str, ...]:
    """What a copy of this workbook would lack; Unreadable when it is damaged, no .xlsx, or unpacks to too much."""
    try:
        with ZipFile(BytesIO(raw)) as archive:
            parts = archive.infolist()
    except BadZipFile as fault:
        raise Unreadable("The workbook is damaged or incomplete. Save it again as .xlsx.") from fault
    names = {part.filename for part in parts}
    if "xl/workbook.xml" not in names:
        kind = "an .ods file" if "mimetype" in names else "not an .xlsx workbook"
        raise Unreadable(f"This is {kind}. Save it as .xlsx or .csv.")
    tight = [p for p in parts if p.file_size > SMALL and p.file_size > MOST_RATIO * max(p.compress_size, 1)]
    size = sum(part.file_size for part in parts)
    if size > MOST_BYTES or tight or len(parts) > MOST_PARTS or any(p.file_size > MOST_IN_A_PART for p in parts):
        raise Unreadable(f"The workbook unpacks to {size // 2**20} MB, which is too much or packed like no real table.")
    return tuple(what for mark, what in LOST.items() if any(mark in name for name in names))
