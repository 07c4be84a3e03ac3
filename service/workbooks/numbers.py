"""Read numbers as a shop writes them: ASCII digits, decimal point or comma, a unit behind, nothing guessed."""

import re
from collections.abc import Iterable
from typing import NamedTuple

POINT = re.compile(r"([-+]?)\$? ?((?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)(?:\.[0-9]+)?|\.[0-9]+)(-?)")
COMMA = re.compile(r"([-+]?)€? ?((?:[0-9]{1,3}(?:[. ][0-9]{3})+|[0-9]+)(?:,[0-9]+)?)(-?)")
BEHIND = r"(?: ?[^0-9.,\s][^0-9]{0,10})?"
WITH_COMMA = re.compile(rf"[-+]?[0-9]{{1,3}}(?:[. ]?[0-9]{{3}})*,[0-9]{{1,2}}{BEHIND}")
WITH_POINT = re.compile(rf"[-+]?[0-9]+\.[0-9]+{BEHIND}")
FORMAT_UNIT = re.compile(r'"([^"]*)"|\\ ?([A-Za-z°%/]+)')


class Number(NamedTuple):
    """A number as plain text, what is written behind it, and a remark."""

    text: str
    unit: str
    remark: str


def parse(text: str, *, decimal_comma: bool = False) -> Number:
    """The number at the beginning of a text with its unit; ValueError for what is none.

    >>> parse("28.5 °F"), parse("36!!").remark, parse("-4,5 C", decimal_comma=True).text
    (Number(text='28.5', unit='°F', remark=''), '!!', '-4.5')
    """
    text = text.replace("\u2212", "-").replace("\u2013", "-").strip()
    bracketed = re.fullmatch(r"\((.*)\)", text)
    found = (COMMA if decimal_comma else POINT).match(bracketed[1] if bracketed else text)
    if found is None:
        raise ValueError(f"{text!r} is not a number")
    digits = (
        found[2].replace(".", "").replace(" ", "").replace(",", ".") if decimal_comma else found[2].replace(",", "")
    )
    rest = (bracketed[1] if bracketed else text)[found.end() :].strip()
    if re.match(r"[-/.,]?[0-9]|[-–/] *[0-9]|to [0-9]", rest):
        raise ValueError(f"{text!r} is not one number")
    marks = re.search(r"[!?*]+$", rest)
    unit = rest[: marks.start()].strip() if marks else rest
    minus = "-" if found[1] == "-" or found[3] or bracketed else ""
    return Number(minus + digits.lstrip("+"), unit, marks[0] if marks else "")


def parse_either(text: str) -> Number:
    """The number whichever of point and comma is the decimal mark: to look at, not to import.

    >>> parse_either("-2,5 °C").text, parse_either("28.5").text
    ('-2.5', '28.5')
    """
    try:
        return parse(text)
    except ValueError:
        return parse(text, decimal_comma=True)


def has_decimal_comma(texts: Iterable[str], *, certain: int = 1) -> bool:
    """Whether numbers are written 4,8 and not 4.8, with a unit behind or not; by at least `certain` of them.

    >>> has_decimal_comma(["-2,5 °C", "24.10.2026", "1,234"]), has_decimal_comma(["4,8", "4.8"])
    (True, False)
    """
    written = [text.strip() for text in texts]
    commas = sum(WITH_COMMA.fullmatch(text) is not None for text in written)
    return commas >= certain and commas > sum(WITH_POINT.fullmatch(text) is not None for text in written)


def unit_in_format(number_format: str) -> str:
    """The unit that a number format shows behind the number.

    >>> unit_in_format('0.0" brix"'), unit_in_format("0%"), unit_in_format("General")
    ('brix', '%', '')
    """
    if "%" in number_format.replace('"%"', ""):
        return "%"
    found = FORMAT_UNIT.search(number_format)
    return (found[1] or found[2] or "").strip() if found else ""
