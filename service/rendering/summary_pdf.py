"""A service summary as a tagged PDF (PDF/UA-1) with its fonts embedded; the same data give the same bytes.

Text of the record reaches the typesetter as JSON, never as markup. It is compiled in this process: a child process
would cost a Python start each time, while the typesetter's own cache was measured to stop growing.
"""

import struct
import unicodedata
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import orjson

from service.domain.summary.summary import ReplacementCount, ServiceSummary, UnitSummary
from service.rendering.summary_charts import alternative, draw
from service.rendering.summary_tables import Cell, Table, tables, words
from service.rendering.summary_unit_charts import charts

HERE = Path(__file__).parent
PAPERS = {"a4": "a4", "letter": "us-letter"}
LONGEST = 2000
BREAK_AFTER = 24
UNKNOWN, MISSING = "\u2013", "\u25a1"
NARROW, WIDE = 7, 42


def render(summary: ServiceSummary, paper: str = "a4") -> bytes:
    """Typeset the summary on "a4" or "letter"; raises KeyError for another paper."""
    import typst

    document = orjson.dumps(_legible(_document(summary)))
    squares = MISSING.encode() in document
    data = orjson.dumps({"paper": PAPERS[paper], "squares": squares, **orjson.loads(document)}).decode()
    made = typst.compile(
        HERE / "summary_pdf.typ",
        root=HERE,
        font_paths=[HERE / "fonts"],
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"data": data},
        pdf_standards=["ua-1"],
        timestamp=int(summary.as_of.timestamp()),
    )
    if not isinstance(made, bytes):
        raise TypeError("the typesetter gave no document")
    return made


def _document(summary: ServiceSummary) -> dict[str, Any]:
    told = summary.headline
    state = summary.data_state
    return {
        "title": f"Service summary {summary.year}",
        "customer": summary.customer_name,
        "period": f"{_day(summary.first_day)} to {_day(summary.last_day)}",
        "footer": f"Service summary {summary.year}, data {state.digest[:12]}, glycol-fleet {summary.program_version}",
        "answer": told.how_it_went,
        "figures": [{"told": each.told, "label": each.label} for each in told.figures],
        "todo": told.what_to_do,
        "counted": _counted(summary),
        "parts": _parts(summary.replaced),
        "gaps": [each.sentence for each in summary.gaps],
        "units": [_unit(summary, unit) for unit in summary.units],
        "tables": [_table(each) for each in tables(summary) if each.rows],
        "definitions": [{"term": each.term, "text": each.text} for each in summary.definitions],
        "rests": f"{state.visits} visits and {state.units} units, as of {summary.as_of:%Y-%m-%d %H:%M} UTC; "
        f"state of the data {state.digest}; glycol-fleet {summary.program_version}.",
    }


def _counted(summary: ServiceSummary) -> list[list[str]]:
    kinds = [(f"visits: {words(each.kind)}", each.ours, each.others) for each in summary.visits_by_kind]
    parts = ("replacements", summary.replaced.ours, summary.replaced.others)
    return [[name, str(ours), str(others), str(ours + others)] for name, ours, others in (*kinds, parts)]


def _parts(counted: ReplacementCount) -> str:
    return (
        f"Replacements: {counted.total} in all. Failed {counted.failed}, precaution {counted.precaution}, "
        f"upgrade {counted.upgrade}, reason unknown {counted.unknown}. Seen by us {counted.seen}, "
        f"reported to us {counted.reported}."
    )


def _unit(summary: ServiceSummary, unit: UnitSummary) -> dict[str, Any]:
    about = (unit.site_name, unit.place, unit.maker, unit.model)
    since = f"installed {_day(unit.installed_on)}" if unit.installed_on else None
    return {
        "title": unit.tag,
        "about": ", ".join(part for part in (*about, since) if part),
        "charts": [
            {"title": each.title, "svg": draw(each), "alt": alternative(each)}
            for each in charts(unit, summary)
            if not each.empty
        ],
        "advice": [each.what if each.what == each.reason else f"{each.what} {each.reason}" for each in unit.advice],
        "gaps": [each.sentence for each in unit.gaps],
    }


def _table(table: Table) -> dict[str, Any]:
    rows = [[_cell(cell) for cell in row] for row in table.rows]
    columns = list(zip(*table.rows, strict=True))
    return {
        "name": table.name,
        "heads": table.heads,
        "rows": rows,
        "numbers": [any(isinstance(cell, int | float) for cell in column) for column in columns],
        "widths": [
            min(max(NARROW, len(head), *(len(row[number]) for row in rows)), WIDE)
            for number, head in enumerate(table.heads)
        ],
    }


def _cell(cell: Cell) -> str:
    if cell is None:
        return UNKNOWN
    if isinstance(cell, date):
        return cell.isoformat()
    return f"{cell:.1f}" if isinstance(cell, float) else str(cell)


def _day(on: date) -> str:
    return f"{on.day} {on:%b %Y}"


def _legible(value: Any) -> Any:
    """The document with every text such that the fonts can show it; pictures are ours and stay."""
    if isinstance(value, str):
        return _shown(value)
    if isinstance(value, dict):
        return {key: each if key == "svg" else _legible(each) for key, each in value.items()}
    return [_legible(each) for each in value] if isinstance(value, list | tuple) else value


def _shown(text: str) -> str:
    """Letters without a glyph become a square, controls a blank, and a very long word may break."""
    shown, run = [], 0
    for letter in text[:LONGEST]:
        if unicodedata.category(letter) in {"Cc", "Cf", "Zl", "Zp", "Cs"}:
            letter = " " if letter in "\n\r\t\u2028\u2029\x85" else ""  # noqa: PLW2901
        elif ord(letter) not in _glyphs():
            letter = MISSING  # noqa: PLW2901
        run = 0 if letter == " " else run + len(letter)
        shown.append(letter + ("\u200b" if run and run % BREAK_AFTER == 0 else ""))
    return "".join(shown) + (" \u2026" if len(text) > LONGEST else "")


@cache
def _glyphs() -> frozenset[int]:
    """The letters that the fonts hold in regular and bold, from their `cmap` tables (OpenType, formats 4 and 12)."""
    return frozenset().union(*(_cmap(HERE / "fonts" / name) for name in ("OpenSans-Regular.ttf", "DejaVuSans.ttf")))


def _cmap(path: Path) -> set[int]:
    font = path.read_bytes()
    count = struct.unpack_from(">H", font, 4)[0]
    tags = (struct.unpack_from(">4sIII", font, 12 + 16 * number) for number in range(count))
    start = next(offset for tag, _, offset, _ in tags if tag == b"cmap")
    found: set[int] = set()
    for number in range(struct.unpack_from(">H", font, start + 2)[0]):
        table = start + struct.unpack_from(">I", font, start + 4 + 8 * number + 4)[0]
        found |= _segments(font, table)
    return found


def _segments(font: bytes, table: int) -> set[int]:
    kind = struct.unpack_from(">H", font, table)[0]
    if kind == 4:
        half = struct.unpack_from(">H", font, table + 6)[0] // 2
        ends = struct.unpack_from(f">{half}H", font, table + 14)
        starts = struct.unpack_from(f">{half}H", font, table + 16 + 2 * half)
        return {code for low, high in zip(starts, ends, strict=True) if low < 0xFFFF for code in range(low, high + 1)}
    if kind == 12:
        groups = struct.iter_unpack(
            ">III", font[table + 16 : table + 16 + 12 * int.from_bytes(font[table + 12 : table + 16])]
        )
        return {code for low, high, _ in groups for code in range(low, high + 1)}
    return set()
