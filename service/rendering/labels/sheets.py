"""Labels for units as a PDF: the tag in large letters beside a QR code that leads to the unit's page.

Codes are of error correction Q (ISO/IEC 18004: a quarter of the code may be lost), for kitchens and roofs, with the
quiet zone of four modules that the standard asks for. The sheets are common ones; sizes in millimetres.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from io import BytesIO
from pathlib import Path

import segno

from service.rendering.year.letters import shortened
from service.rendering.year.typeset import typeset

HERE = Path(__file__).parent
QUIET_ZONE = 4
LONGEST = 72  # letters of the line below the tag


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet of labels: how many across and down, the size of one, and where the first one begins."""

    title: str
    paper: str
    across: int
    down: int
    width: float
    height: float
    left: float
    top: float
    gap: float = 0.0


SHEETS: Mapping[str, Sheet] = {
    "a4-24": Sheet(title="A4, 24 of 70 x 37 mm", paper="a4", across=3, down=8, width=70, height=37, left=0, top=0.5),
    "a4-21": Sheet(
        title="A4, 21 of 63.5 x 38.1 mm",
        paper="a4",
        across=3,
        down=7,
        width=63.5,
        height=38.1,
        left=7.25,
        top=15.15,
        gap=2.5,
    ),
    "letter-10": Sheet(
        title="Letter, 10 of 4 x 2 in",
        paper="us-letter",
        across=2,
        down=5,
        width=101.6,
        height=50.8,
        left=3.97,
        top=12.7,
        gap=4.76,
    ),
    "single": Sheet(title="One label, 70 x 37 mm", paper="", across=1, down=1, width=70, height=37, left=0, top=0),
}


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a label: the tag, a line below it, and the address in the code."""

    tag: str
    line: str
    address: str


def render(labels: Sequence[Label], sheet: Sheet, first: int = 1) -> bytes:
    """Typeset the labels, beginning at place `first` of a sheet that was used before."""
    shown = [{"tag": each.tag, "line": shortened(each.line, LONGEST), "svg": code(each.address)} for each in labels]
    return typeset(HERE / "sheets.typ", {"labels": shown, "skip": first - 1, "sheet": asdict(sheet)}, 0)


def code(address: str) -> str:
    """An address as a QR code in SVG, its quiet zone included."""
    drawn = BytesIO()
    segno.make(address, error="q", boost_error=False, micro=False).save(drawn, kind="svg", border=QUIET_ZONE, scale=4)
    return drawn.getvalue().decode()
