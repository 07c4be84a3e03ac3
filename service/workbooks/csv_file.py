"""Read a CSV file: its encoding, its delimiter, its records."""

import codecs
import csv
from io import StringIO

from service.workbooks.cells import Book, Cell, Sheet, Unreadable
from service.workbooks.numbers import has_decimal_comma

BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
DELIMITERS = (";", ",", "\t", "|")
PROBED, MOST_RECORDS, MOST_CELLS, MOST_COLUMNS = 200, 50_000, 400_000, 500


def read(raw: bytes, encoding: str | None) -> Book:
    """The one table of a CSV file; Unreadable says what is wrong with it."""
    text = decoded(raw, encoding)
    delimiter = delimiter_of(text)
    if text.startswith("sep="):
        text = "\n" + text.partition("\n")[2]
    cells: dict[tuple[int, int], Cell] = {}
    same: dict[str, Cell] = {}  # equal cells are one: most values of a long file stand in it many times
    try:
        for number, record in enumerate(csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=False), 1):
            if number > MOST_RECORDS or len(record) > MOST_COLUMNS or len(cells) > MOST_CELLS:
                most = f"{MOST_RECORDS} records, {MOST_CELLS} cells or {MOST_COLUMNS} columns"
                raise Unreadable(f"The file has more than {most}. Split it, such as by years, and import each part.")
            for column, value in enumerate(record, 1):
                if value.strip():
                    cells[number, column] = same.get(value) or same.setdefault(value, Cell(value))
    except csv.Error as fault:
        raise Unreadable(f"The file cannot be read as CSV: {fault}.") from fault
    texts = [str(cell.value) for cell in cells.values()]
    return Book((Sheet("CSV", cells),), decimal_comma=has_decimal_comma(texts, certain=2 if delimiter == "," else 1))


def decoded(raw: bytes, encoding: str | None) -> str:
    """The text: by its byte order mark, else UTF-8 if all of it is, else Windows-1252."""
    found = encoding or next((name for mark, name in BOMS if raw.startswith(mark)), None)
    for name in (found,) if found else ("utf-8", "cp1252"):
        try:
            text = raw.decode(name)
        except (UnicodeDecodeError, LookupError):
            continue
        if "\x00" in text:
            raise Unreadable("This is neither a workbook nor a CSV file: it holds NUL characters.")
        return text
    known = f"It is not {found}." if found else "It is neither UTF-8 nor Windows-1252."
    raise Unreadable(f"The encoding of the file is not known. {known} Save it as CSV UTF-8, or name its encoding.")


def delimiter_of(text: str) -> str:
    """The delimiter that gives most records of one width.

    >>> delimiter_of("Date;Unit;Note\\n1,5;a;b\\n2,5;c;d\\n")
    ';'
    """
    if text.startswith("sep=") and len(text) > 4:
        return text[4]
    head = "".join(text.splitlines(keepends=True)[:PROBED])
    return max(DELIMITERS, key=lambda delimiter: _regular(head, delimiter))


def _regular(head: str, delimiter: str) -> int:
    widths = [len(record) for record in csv.reader(StringIO(head, newline=""), delimiter=delimiter)]
    return max((widths.count(width) * min(width, 3) for width in set(widths) if width > 1), default=0)
