"""Documents as tagged PDFs (PDF/UA-1) with their fonts embedded; the same data give the same bytes.

Text of the record reaches the typesetter as JSON, never as markup.
"""

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import orjson

from service.rendering.words import gettext, language
from service.rendering.year.letters import FONTS, MISSING, legible

if TYPE_CHECKING:
    import typst

PAPERS = {"a4": "a4", "letter": "us-letter"}


def typeset(source: Path, document: Mapping[str, Any], timestamp: int, pictures: Sequence[bytes] = ()) -> bytes:
    """The document as `source` sets it, dated `timestamp`; it gets `squares`: whether the fonts lack a letter of it.

    `pictures` are files of images, which it gets as lists of bytes.
    """
    import typst

    shown = legible(document)
    squares = MISSING.encode() in orjson.dumps(shown)
    data = orjson.dumps(
        {**_frame(), **shown, "squares": squares, "pictures": [list(each) for each in pictures]}
    ).decode()
    compiler = typst.Compiler(source, root=source.parent, font_paths=_fonts(), sys_inputs={"data": data})
    made = compiler.compile(format="pdf", pdf_standards=["ua-1"], timestamp=timestamp)
    if not isinstance(made, bytes):
        raise TypeError("the typesetter gave no document")
    return made


def _frame() -> dict[str, str]:
    """What stands on every document in its language."""
    return {
        "language": language(),
        "page_of": gettext("Page {page} of {pages}"),
        "squares_note": gettext(
            "A character missing from the fonts of this document is shown as a square; the record holds it as entered."
        ),
    }


@cache
def _fonts() -> "typst.Fonts":
    """The fonts of the folder and no others, so that every machine sets the same bytes."""
    import typst

    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS])
