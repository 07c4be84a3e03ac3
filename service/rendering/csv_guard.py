"""Text that a spreadsheet shows as text, whatever somebody typed into the record."""

import re

_BLANK = r"[^\S\t\r\n]|[\u200b-\u200f\u2060\ufeff]"  # seen or unseen
_SIGN = r"[=+\-@\uff1d\uff0b\uff0d\uff20]"  # the last four are full-width forms
# A cell can begin at the start of the text. When a spreadsheet whose list separator is not the comma splits the file in
# its own way, it can also begin after a semicolon, a tab or a line break.
_FORMULA = re.compile(rf"^(?=[\t\r\n])|(?:^|(?<=[;\t\r\n]))(?=(?:{_BLANK})*{_SIGN})")


def guarded(text: str) -> str:
    """Put an apostrophe before whatever a spreadsheet could take for a formula; leave all other text as it is.

    That is a cell's first = + - @ or its full-width form, blanks in front of it or not, and a text that starts with a
    tab or a line break. Whoever reads the file back by program takes the apostrophe off again, or reads the JSON, which
    holds the text as it was typed. Numbers are not text and never come here: -4.5 stays -4.5, while a telephone number
    "+1 555 0100" becomes "'+1 555 0100". Source: OWASP, "CSV Injection".

    >>> guarded("=cmd|' /C calc'!A0")
    "'=cmd|' /C calc'!A0"
    >>> guarded("coil brush; mask")
    'coil brush; mask'
    """
    return _FORMULA.sub("'", text)
