"""Text of the record as the fonts of the document can show it: which letters they hold, and in which order it runs."""

import struct
import unicodedata
from functools import cache
from pathlib import Path
from typing import Any

FONTS = Path(__file__).parent / "fonts"
LONGEST = 2000
BREAK_AFTER = 24
MISSING = "\u25a1"
BLANKS = frozenset("\n\r\t\u2028\u2029\x85")
JOINERS = frozenset("\u200c\u200d")  # they shape Arabic, Indic letters and emoji
ISOLATE, END = "\u2068", "\u2069"  # Unicode Standard Annex 9: first strong isolate, pop directional isolate
MARKS = JOINERS | {ISOLATE, END}


def legible(value: Any) -> Any:
    """A document of dicts, lists and texts with every text such that the fonts can show it; pictures stay."""
    if isinstance(value, str):
        return shown(value)
    if isinstance(value, dict):
        return {key: each if key == "svg" else legible(each) for key, each in value.items()}
    return [legible(each) for each in value] if isinstance(value, list | tuple) else value


def shown(text: str) -> str:
    """The text composed (NFC) and cut at LONGEST; each part in its own direction, as `isolated` marked it.

    Letters without a glyph become a square, controls a blank or nothing, and a very long word may break.
    """
    made: list[str] = []
    run = 0
    for letter in unicodedata.normalize("NFC", text[:LONGEST]):
        glyph = _glyph(letter)
        if run >= BREAK_AFTER and _may_break(made[-1], glyph):
            made.append("\u200b")
            run = 0
        run = 0 if glyph == " " else run + 1
        made.append(glyph)
    whole = "".join(made)
    return (whole if ISOLATE in whole else isolated(whole)) + (" \u2026" if len(text) > LONGEST else "")


def shortened(text: str, longest: int) -> str:
    """The first letters of a text, with an ellipsis where there are more.

    >>> shortened("beside the walk-in", 11), shortened("cellar", 11)
    ('beside the \u2026', 'cellar')
    """
    return text if len(text) <= longest else f"{text[:longest].rstrip()} \u2026"


def isolated(text: str) -> str:
    """Right-to-left text set apart, so that it turns round by itself and not together with what stands beside it."""
    turns = any(unicodedata.bidirectional(letter) in {"R", "AL"} for letter in text)
    return f"{ISOLATE}{text.replace(ISOLATE, '').replace(END, '')}{END}" if turns else text


def _glyph(letter: str) -> str:
    if letter in MARKS or "\ufe00" <= letter <= "\ufe0f":  # with the variation selectors
        return letter
    if unicodedata.category(letter) in {"Cc", "Cf", "Zl", "Zp", "Cs"}:
        return " " if letter in BLANKS else ""
    return letter if ord(letter) in glyphs() else MISSING


def _may_break(before: str, after: str) -> bool:
    """Whether a new line between the two tears nothing apart that is shaped together."""
    kind = unicodedata.category(after) if after else "Mn"
    return before not in JOINERS and after not in JOINERS and kind[0] != "M" and kind != "Sk"


@cache
def glyphs() -> frozenset[int]:
    """The letters that the upright fonts hold, from their `cmap` tables (OpenType, formats 4 and 12)."""
    upright = (path for path in FONTS.glob("*.ttf") if not path.stem.endswith(("Italic", "Semibold")))
    return frozenset().union(*(_cmap(path) for path in upright))


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
