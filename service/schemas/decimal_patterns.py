"""Regular expressions for the plain decimal numbers between two limits."""

from collections.abc import Iterator
from decimal import Decimal

MORE = "[0-9]{0,6}"


def decimals(low: Decimal, high: Decimal) -> str:
    """The pattern of numbers from `low` to `high`, both included, without leading zeros, plus sign and exponent.

    >>> decimals(Decimal("-2"), Decimal("1"))
    '(?:-(?:0(?:[.][0-9]{1,6})?|(?:1)(?:[.][0-9]{1,6})?|2(?:[.]0{1,6})?)|(?:0(?:[.][0-9]{1,6})?|1(?:[.]0{1,6})?))'
    """
    if low >= 0:
        return _unsigned(low, high)
    if high < 0:
        return "-" + _unsigned(-high, -low)
    return f"(?:-{_unsigned(Decimal(0), -low)}|{_unsigned(Decimal(0), high)})"


def whole_numbers(low: int, high: int) -> str:
    """The pattern of whole numbers from `low`, not negative, to `high`.

    >>> whole_numbers(1, 120)
    '(?:[1-9][0-9]{0,1}|10[0-9]|11[0-9]|120)'
    """
    return f"(?:{'|'.join(_whole(low, high))})"


def _whole(low: int, high: int) -> Iterator[str]:
    if low == 1 and set(str(high)) == {"9"}:
        yield f"[1-9][0-9]{{0,{len(str(high)) - 1}}}"
        return
    if low == 1 and high > 99:
        every = 10 ** (len(str(high)) - 1) - 1
        yield from (*_whole(1, every), *_whole(every + 1, high))
        return
    for length in range(len(str(low)), len(str(high)) + 1):
        first, last = max(low, 10 ** (length - 1) if length > 1 else 0), min(high, 10**length - 1)
        yield from _same_length(str(first), str(last))


def _same_length(low: str, high: str) -> Iterator[str]:
    rest = len(low) - 1
    if low == high:
        yield low
    elif set(low[1:]) <= {"0"} and set(high[1:]) <= {"9"}:
        yield _digit(low[0], high[0]) + {0: "", 1: "[0-9]"}.get(rest, f"[0-9]{{{rest}}}")
    elif low[0] == high[0]:
        yield from (low[0] + more for more in _same_length(low[1:], high[1:]))
    else:
        yield from _same_length(low, low[0] + "9" * rest)
        after, before = chr(ord(low[0]) + 1), chr(ord(high[0]) - 1)
        if after <= before:
            yield from _same_length(after + "0" * rest, before + "9" * rest)
        yield from _same_length(high[0] + "0" * rest, high)


def _digit(low: str, high: str) -> str:
    return low if low == high else f"[{low}-{high}]"


def _unsigned(low: Decimal, high: Decimal) -> str:
    (first, least), (last, most) = _split(low), _split(high)
    if first == last:
        return f"{first}{_fraction(least, most)}"
    choices = [f"{first}{_fraction(least, None)}"]
    if last - first > 1:
        choices.append(f"{whole_numbers(first + 1, last - 1)}{_fraction('', None)}")
    choices.append(f"{last}{_fraction('', most)}")
    return f"(?:{'|'.join(choices)})"


def _split(number: Decimal) -> tuple[int, str]:
    whole, _, fraction = f"{number:f}".partition(".")
    return int(whole), fraction.rstrip("0")


def _fraction(low: str, high: str | None) -> str:
    """From `low` to `high`, digits after the point; None is any, no digits are zero."""
    if not low:
        inner = "[0-9]{1,6}" if high is None else _at_most(high)
        return f"(?:[.]{inner})?"
    return f"[.]{_at_least(low) if high is None else _between(low, high)}"


def _at_most(high: str) -> str:
    if not high:
        return "0{1,6}"
    below = [f"{_digit('0', chr(ord(high[0]) - 1))}{MORE}"] if high[0] > "0" else []
    return f"(?:{'|'.join([*below, f'{high[0]}(?:{_at_most(high[1:])})?'])})"


def _at_least(low: str) -> str:
    if not low:
        return MORE
    above = [f"{_digit(chr(ord(low[0]) + 1), '9')}{MORE}"] if low[0] < "9" else []
    return f"(?:{'|'.join([f'{low[0]}{_at_least(low[1:])}', *above])})"


def _between(low: str, high: str) -> str:
    if not low:
        return f"(?:{_at_most(high)})?"
    first, last = low[0], high[0]
    if first == last:
        return first + _between(low[1:], high[1:])
    after, before = chr(ord(first) + 1), chr(ord(last) - 1)
    middle = [f"{_digit(after, before)}{MORE}"] if after <= before else []
    return f"(?:{'|'.join([first + _at_least(low[1:]), *middle, f'{last}(?:{_at_most(high[1:])})?'])})"
