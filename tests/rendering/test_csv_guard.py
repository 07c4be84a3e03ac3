import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.rendering.csv_guard import guarded

# OWASP, "CSV Injection": = + - @, tab, carriage return, line feed, and the full-width forms of the first four.
SIGNS = "=+-@\uff1d\uff0b\uff0d\uff20"


@pytest.mark.parametrize("sign", [*SIGNS, "\t", "\r", "\n"])
def test_puts_an_apostrophe_before_each_sign_that_starts_a_formula(sign):
    assert guarded(f"{sign}1+1").startswith("'")


@pytest.mark.parametrize("blank", [" ", "   ", "\u00a0", "\u3000", "\u200b", "\ufeff"])
def test_sees_through_blanks(blank):
    assert guarded(f"{blank}=1+1") == f"'{blank}=1+1"


@pytest.mark.parametrize("separator", [";", "\t", "\n", "\r\n"])
def test_guards_a_cell_that_another_separator_would_open(separator):
    assert guarded(f"brush{separator} @SUM(1)") == f"brush{separator}' @SUM(1)"


@pytest.mark.parametrize(
    "text", ["", "brush", "GU-0007", "a=b", "coil brush; mask", "12 Quay Street - rear", "O'Brien", "'twas"]
)
def test_leaves_ordinary_text_alone(text):
    assert guarded(text) == text


@given(st.text(st.sampled_from(SIGNS + " \t\r\n;'\"ab\u00a0")))
def test_no_cell_can_start_with_a_sign_however_the_text_is_cut(text):
    pieces = re.split("[;\t\r\n]", guarded(text))

    assert not [piece for piece in pieces if piece.lstrip()[:1] in set(SIGNS)]
    assert guarded(text)[:1] not in set("\t\r\n")


@given(st.text(st.sampled_from(SIGNS + " \t\r\n;ab")))
def test_adds_apostrophes_and_nothing_else(text):
    assert guarded(text).replace("'", "") == text
