"""Numbers as shops write them."""

import pytest

from service.workbooks.numbers import parse, unit_in_format


@pytest.mark.parametrize(
    ("text", "comma", "number", "unit"),
    [
        ("28", False, "28", ""),
        ("-18F", False, "-18", "F"),
        ("24.5 brix", False, "24.5", "brix"),
        ("1,234.5", False, "1234.5", ""),
        ("4,8", True, "4.8", ""),
        ("1.234,50", True, "1234.50", ""),
        ("12,00-", True, "-12.00", ""),
        ("(30)", False, "-30", ""),
        ("28 °F", False, "28", "°F"),
    ],
)
def test_a_number_is_read(text, comma, number, unit):
    assert parse(text, decimal_comma=comma)[:2] == (number, unit)


@pytest.mark.parametrize("text", ["nan", "infinity", "١٢", "28-30", "<20", "ok", "", "12/5"])
def test_what_is_no_single_number_is_refused(text):
    with pytest.raises(ValueError, match="number"):
        parse(text)


def test_the_unit_of_a_number_format_is_found():
    assert [unit_in_format(text) for text in ('0.0" brix"', "0.00%", "General", "dd/mm")] == ["brix", "%", "", ""]
