"""The PM list for a terminal: aligned columns within the given width."""

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from itertools import zip_longest

from service.domain.maintenance.pm_list import DueRow, PmList, Stop, days_overdue, minutes, size_of, with_left_over
from service.rendering.pm_list.wording import (
    CLASS_NAMES,
    assigned_for,
    brought,
    by_unit,
    cautions,
    duration,
    how_late,
    included,
    laid_out,
    number,
    numbered_cautions,
    root_cause_text,
    technicians_at,
    times_of,
    weekday_and_date,
    weekdays_and_dates,
)

NARROWEST = 80
_INDENT = "     "
_COLUMNS = ("due", 15), ("unit", 17), ("task", 16), ("min", 3)  # what is left of the line is the sentence why
_GAP = "  "
_LABEL = 12
_JOINERS = "\u200c\u200d"  # they join letters and emoji, and show nothing themselves


def render(pm_list: PmList, *, width: int = 100) -> str:
    """Format the list in lines of at most `width` columns (at least 80), grouped by stop.

    What to bring stands at the beginning, for the whole day. The cautions are numbered and written out once, at the
    end; each stop refers to them by number.
    """
    width = max(width, NARROWEST)
    pm_list = with_left_over(pm_list)
    numbers = numbered_cautions(pm_list)
    company = ", ".join(pm_list.company.lines)
    lines = [*_wrap(company, width), *_wrap(_headline(pm_list), width), *_wrap(laid_out(pm_list), width)]
    for name, things in brought(pm_list):
        lines += _wrap(f"Bring{f' ({name})' if name else ''}: {', '.join(things)}", width)
    for place, stop in enumerate(pm_list.stops, 1):
        lines += ["", *_stop(pm_list, stop, numbers, place=place, width=width)]
    if numbers:
        lines += ["", "Cautions"]
    for caution, at in numbers.items():
        lines += _hanging(f"({at})", caution, width)
    if pm_list.day is not None:
        lines += ["", *(line for note in pm_list.day.notes for line in _wrap(note, width))]
    if pm_list.next:
        lines += ["", "There are more stops."]
    return "\n".join(lines) + "\n"


def _headline(pm_list: PmList) -> str:
    if not pm_list.stops:
        return f"Nothing is due {_horizon(pm_list)}."
    total = size_of(pm_list)
    due = f"{total.overdue} overdue, {total.due_today} due today, {total.due_soon} due soon"
    return (
        f"PM list, {weekdays_and_dates(pm_list.stops)}: {number(total.stops, 'stop')}; {due}; {duration(total.minutes)}"
    )


def _horizon(pm_list: PmList) -> str:
    return f"within {number(pm_list.horizon_days, 'day')}" if pm_list.horizon_days else "today"


def _stop(pm_list: PmList, stop: Stop, numbers: Mapping[str, int], *, place: int, width: int) -> Iterator[str]:
    site = stop.site
    work = f"{number(len(stop.rows), 'item')}, {duration(minutes(pm_list, stop.rows))}"
    yield from _hanging(f"{place}.", f"{site.site_name}, {weekday_and_date(stop.today)}: {work}", width)
    yield from _labelled("", ", ".join(filter(None, (site.customer_name, site.address, site.phone))), width)
    yield from _labelled("Time", times_of(stop), width)
    yield from _labelled("Technician", technicians_at(pm_list, stop), width)
    yield from _labelled("Access", site.access or "", width)
    yield _line(["due", "unit", "task", "min", "why"])
    for rows in by_unit(stop.rows):
        for row in rows:
            yield from _item(pm_list, row, stop, width, first=row is rows[0])
    for root_cause in pm_list.root_causes_at(stop):
        yield from _labelled("Check", f"{root_cause.unit}: {root_cause_text(root_cause)}", width)
    needed = sorted(numbers[caution] for caution in cautions(pm_list, stop))
    yield from _labelled("Cautions", ", ".join(f"({at})" for at in needed), width)


def _urgent(row: DueRow) -> str:
    return "" if row.work == "pm" else CLASS_NAMES[row.work]


def _with_included(pm_list: PmList, row: DueRow) -> str:
    return f"{pm_list.task(row).name}{included(pm_list, row)}"


def _item(pm_list: PmList, row: DueRow, stop: Stop, width: int, *, first: bool) -> Iterator[str]:
    """The lines of an item; its unit is named at the first one."""
    task = pm_list.task(row)
    late, tag, name, spent = (room for _, room in _COLUMNS)
    why = width - len(_line(["", "", "", "", ">"])) + 1
    columns = (
        [
            *_wrap(_urgent(row), late),
            *_wrap(how_late(days_overdue(row, stop.today)), late),
            *_wrap(assigned_for(row, stop.today), late),
        ],
        [*_wrap(row.unit or "not known", tag), *_wrap(row.place or "", tag)] if first else [],
        _wrap(_with_included(pm_list, row), name),
        [f"{task.minutes:>{spent}}"],
        _wrap(stop.forward.get((row.unit, row.task)) or row.why, why),
    )
    yield from (_line(cells) for cells in zip_longest(*columns, fillvalue=""))


def _line(cells: Sequence[str]) -> str:
    padded = [cell + " " * (room - _cells(cell)) for cell, (_, room) in zip(cells, _COLUMNS, strict=False)]
    return (_INDENT + _GAP.join([*padded, cells[-1]])).rstrip()


def _labelled(label: str, text: str, width: int) -> Iterator[str]:
    head = f"{label:<{_LABEL}}"
    for line in _wrap(text, width - len(_INDENT) - _LABEL):
        yield f"{_INDENT}{head}{line}".rstrip()
        head = " " * _LABEL


def _hanging(head: str, text: str, width: int) -> Iterator[str]:
    for line in _wrap(text, width - len(_INDENT)):
        yield f"{head:<{len(_INDENT)}}{line}"
        head = ""


def _wrap(text: str, room: int) -> list[str]:
    """Break text into lines of at most `room` columns; a word longer than that is cut."""
    lines: list[str] = []
    for word in text.split():
        for piece in _pieces(_printable(word), room):
            if lines and _cells(lines[-1]) + 1 + _cells(piece) <= room:
                lines[-1] += " " + piece
            else:
                lines.append(piece)
    return lines


def _pieces(word: str, room: int) -> Iterator[str]:
    piece, used = "", 0
    for character in word:
        wide = _cells(character)
        if used + wide > room:
            yield piece
            piece, used = "", 0
        piece, used = piece + character, used + wide
    yield piece


def _printable(word: str) -> str:
    """Show control characters and direction overrides as U+FFFD."""
    controls = {c for c in word if unicodedata.category(c) in ("Cc", "Cf", "Cs") and c not in _JOINERS}
    return "".join("\N{REPLACEMENT CHARACTER}" if c in controls else c for c in word) if controls else word


def _cells(text: str) -> int:
    """Columns that text takes in a terminal: two for East Asian wide characters and emoji, none for combining marks."""
    return len(text) if text.isascii() else sum(map(_cell, text))


def _cell(character: str) -> int:
    if character in _JOINERS or unicodedata.category(character) in ("Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1
