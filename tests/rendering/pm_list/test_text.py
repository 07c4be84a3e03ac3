import unicodedata
from dataclasses import replace

import pytest

from service.domain.record.company import Letterhead
from service.rendering.pm_list import page
from service.rendering.pm_list.text import render


def columns(line):
    """Unicode Standard Annex 11: wide and full-width characters take two columns; marks and joiners take none."""
    taken = 0
    for character in line:
        if unicodedata.category(character) not in ("Mn", "Me", "Cf"):
            taken += 2 if unicodedata.east_asian_width(character) in ("W", "F") else 1
    return taken


def test_formats_a_stop(day):
    lines = render(day).splitlines()

    assert lines[:13] == [
        "PM list, Tue 2026-06-09: 2 stops; 1 overdue, 2 due today, 1 due soon; 1 h 50 min",
        "Bring (rhea): soft brush, vacuum, ammeter",
        "Bring (nobody yet): soft brush, vacuum",
        "",
        "1.   Lantern Room, Quay, Tue 2026-06-09: 3 items, 1 h 20 min",
        "                 The Lantern Room, 12 Quay Street, 303 555 0134",
        "     Technician  rhea",
        "     Access      Ring twice.",
        "     due              unit               task              min  why",
        "     12 days overdue  GU-0007            Condenser clean    30  Every 3 months; last done on",
        "                      above the walk-in                         2026-02-28.",
        "     due today                           Pump check         20  Never visited.",
        "     due in 5 days    GU-0008            Condenser clean    30  Every 3 months; last done on",
    ]


def test_the_company_stands_first(day):
    sender = Letterhead(name="Coldline Service", phone="303 555 0100", licence="Licence MC-4711")
    lines = render(replace(day, company=sender)).splitlines()

    assert lines[0] == "Coldline Service, 303 555 0100, Licence MC-4711"
    assert lines[1:] == render(day).splitlines()


def test_writes_each_caution_once_and_points_to_it(day):
    text = render(day)

    assert text.count("Wear gloves.") == 1
    assert "     Cautions    (1), (2)\n" in text
    assert text.endswith("Cautions\n(1)  Isolate the fan.\n(2)  Wear gloves.\n")


def test_ascii_stays_ascii(day):
    assert render(day).isascii()


@pytest.mark.parametrize("width", [80, 100, 160])
def test_no_line_is_wider_than_asked(hostile_list, width):
    assert [line for line in render(hostile_list, width=width).split("\n") if columns(line) > width] == []


def test_a_terminal_narrower_than_the_columns_gets_80(day):
    assert render(day, width=20) == render(day, width=80)


def test_wide_characters_keep_the_columns_aligned(listed, row):
    # three ideographs take six columns (Unicode Standard Annex 11)
    line = next(line for line in render(listed((row(unit="冷却水"),))).splitlines() if "冷却水" in line)

    assert columns(line[: line.index("Condenser")]) == len("     12 days overdue  GU-0007            ")


def test_combining_marks_take_no_column(listed, row):
    plain, marked = (render(listed((row(unit=unit),))).splitlines()[8] for unit in ("cafe", "cafe\u0301"))

    assert columns(plain[: plain.index("Condenser")]) == columns(marked[: marked.index("Condenser")])


def test_nothing_typed_controls_the_terminal(hostile_list):
    text = render(hostile_list)

    controls = {c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp")}
    assert controls <= {"\n", "\u200d"}  # the joiner keeps an emoji together


def test_shows_every_letter_that_was_typed(hostile_list, hostile):
    shown = set("".join(render(hostile_list).split()))

    letters = {c for c in hostile if unicodedata.category(c)[0] in "LNPS"}
    assert letters <= shown


def test_an_empty_list_says_so(listed):
    assert render(listed()) == "Nothing is due within 7 days.\n"
    assert render(listed(horizon_days=0)) == "Nothing is due today.\n"


def test_mentions_further_stops(listed, row):
    assert render(listed((row(),), next="x")).endswith("There are more stops.\n")


def test_names_a_root_cause_once_for_each_unit(failing):
    text = " ".join(render(failing).split())

    assert text.count("keeps failing") == 1
    assert "Check GU-0007: power switch keeps failing; probable cause: condenser fouled. Read the amps." in text


def test_an_item_says_for_which_other_day_it_is_assigned(listed, row):
    rows = tuple(row(unit=f"GU-{n}", assigned_day=day) for n, day in enumerate(("2026-06-12", "2026-06-09", None)))
    pulled = listed(rows)  # of 9 June

    for written in (render(pulled), page.render(pulled).decode()):
        assert " ".join(written.split()).count("assigned for") == 1
    assert "assigned for Fri 2026-06-12" in " ".join(page.render(pulled).decode().split())
