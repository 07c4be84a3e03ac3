"""Which letters the summary's fonts hold, and in which order they run."""

import unicodedata
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from service.rendering.year import summary_pdf
from service.rendering.year.letters import LONGEST, glyphs, isolated, shown
from tests.rendering.test_summary_documents import a_summary

# Repertoires of national standards, from Python's codecs: the letters that people there can type.
NATIONAL = {
    "gb2312": ("CJK UNIFIED",),
    "shift_jis": ("CJK UNIFIED", "HIRAGANA", "KATAKANA"),
    "big5": ("CJK UNIFIED",),
    "euc_kr": ("HANGUL SYLLABLE",),
    "iso8859_6": ("ARABIC",),
    "iso8859_8": ("HEBREW",),
    "iso8859_5": ("CYRILLIC",),
    "iso8859_7": ("GREEK",),
    "tis_620": ("THAI CHARACTER",),
}


def letters_of(encoding: str) -> set[str]:
    high = range(0x80, 0x100)
    codes = [bytes([one]) for one in high] + [bytes([one, two]) for one in high for two in range(0x40, 0x100)]
    decoded = (code.decode(encoding, "ignore") for code in codes)
    named = {letter: unicodedata.name(letter, "") for letter in decoded if len(letter) == 1}
    return {letter for letter, name in named.items() if name.startswith(NATIONAL[encoding])}


@pytest.mark.parametrize("encoding", NATIONAL)
def test_the_letters_of_a_national_standard_can_be_shown(encoding: str) -> None:
    letters = letters_of(encoding)

    assert len(letters) > 20
    assert [letter for letter in letters if ord(letter) not in glyphs()] == []


@pytest.mark.parametrize(
    "text",
    [
        "\u0917\u094d\u0932\u093e\u0907\u0915\u094b\u0932",  # Hindi: glycol
        "\U0001f37a \U0001f469\u200d\U0001f527 \U0001f1e9\U0001f1ea \U0001f44d\U0001f3fd \u2764\ufe0f 1\ufe0f\u20e3",
        "\u0641\u0646\u062f\u0642\u200c\u0647\u0627",  # Persian, with a non-joiner
        "\u0baa\u0bc0\u0bb0\u0bcd \u09ac\u09bf\u09af\u09bc\u09be\u09b0 \u1262\u122b \u179f\u17d2\u179a\u17b6",
    ],
)
def test_what_the_fonts_hold_stays_as_it_was_typed(text: str) -> None:
    assert shown(text).strip("\u2068\u2069") == unicodedata.normalize("NFC", text)


def test_a_letter_without_a_glyph_is_a_square_and_the_document_says_so() -> None:
    rare = "\U00020bb7"  # a form of a Japanese family name beyond the Basic Multilingual Plane
    text = _text(a_summary(text=f"{rare}\u91ce\u5bb6"))

    assert "\u25a1\u91ce\u5bb6" in text
    assert "shown as a square" in text
    assert "shown as a square" not in _text(a_summary())


def _text(summary: Any) -> str:
    return " ".join(page.extract_text() for page in PdfReader(BytesIO(summary_pdf.render(summary))).pages)


def test_right_to_left_words_run_from_right_to_left_with_their_numbers() -> None:
    """Unicode Standard Annex 9, rules W7 and N1: the second word and the number stand to the left of the first."""
    places: dict[str, float] = {}

    def note(text: str, matrix: Any, *_: Any) -> None:
        places.setdefault(text, matrix[4])

    made = summary_pdf.render(a_summary(text="\u05d0\u05d1 \u05d2\u05d3 12"))
    PdfReader(BytesIO(made)).pages[0].extract_text(visitor_text=note)

    assert places["12"] < places["\u05d2\u05d3"] < places["\u05d0\u05d1"]


def test_a_right_to_left_part_turns_no_other_part_round() -> None:
    """Unicode Standard Annex 9, section 6: parts put together are isolated from each other."""
    hebrew = "\u05d0\u05d1 12"

    assert shown(f"{isolated(hebrew)}, installed") == f"\u2068{hebrew}\u2069, installed"
    assert shown(hebrew) == f"\u2068{hebrew}\u2069"
    assert isolated(f"\u2069{hebrew}\u2068") == f"\u2068{hebrew}\u2069"


def test_no_override_turns_the_text_beside_it_round() -> None:
    assert shown("abc\u202etxt.exe\u2066") == "abctxt.exe"


def test_a_long_word_may_break_but_not_inside_a_letter() -> None:
    made = shown("e\u0327\u0301" * 60)  # no precomposed form holds both marks

    assert "\u200b" in made
    assert not any(unicodedata.category(after) == "Mn" for after in made.split("\u200b")[1:] for after in after[:1])


def test_text_beyond_the_longest_ends_in_an_ellipsis() -> None:
    made = shown("x " * LONGEST)

    assert (len(made), made[-2:]) == (LONGEST + 2, " \u2026")
