"""Read numbers as a shop writes them: ASCII digits, decimal point or comma, a unit behind, nothing guessed."""

import re
from typing import NamedTuple

POINT = re.compile(r"([-+]?)\$? ?((?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)(?:\.[0-9]+)?|\.[0-9]+)(-?)")
COMMA = re.compile(r"([-+]?)€? ?((?:[0-9]{1,3}(?:[. ][0-9]{3})+|[0-9]+)(?:,[0-9]+)?)(-?)")
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


def unit_in_format(number_format: str) -> str:
    """The unit that a number format shows behind the number.

    >>> unit_in_format('0.0" brix"'), unit_in_format("0%"), unit_in_format("General")
    ('brix', '%', '')
    """
    if "%" in number_format.replace('"%"', ""):
        return "%"
    found = FORMAT_UNIT.search(number_format)
    return (found[1] or found[2] or "").strip() if found else ""
