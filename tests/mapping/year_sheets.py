"""The workbook of an invented company, as its office kept it for three years: 60 units, one sheet a year.

Written from how such lists look, before reading how they are read. Names, addresses and numbers are invented.
"""

import datetime as dt
import random
import sys
from pathlib import Path
from typing import Any

import xlsxwriter

TOWNS = ("Alder Point", "Quarry Hill", "Saltmarsh")
BARS = (
    ("1001", "Ferrin Taverns LLC", "The Copper Ladle"),
    ("1001", "Ferrin Taverns LLC", "Ladle & Pint"),
    ("1001", "Ferrin Taverns LLC", "The Lower Deck"),
    ("1002", "Obrecht Hospitality", "Obrecht's Corner"),
    ("1002", "Obrecht Hospitality", "Hotel Marlowe Bar"),
    ("1003", "Three Gulls Inc.", "Three Gulls"),
    ("1003", "Three Gulls Inc.", "Gulls on the Pier"),
    ("1004", "Dunmore Lanes", "Dunmore Bowling"),
    ("1005", "Pell Street Partners", "Pell Street Social"),
    ("1005", "Pell Street Partners", "The Back Room"),
    ("1006", "R. Vasko", "Vasko's Smokehouse"),
    ("1007", "Tidewater Stadium Co.", "Stadium North Stand"),
    ("1007", "Tidewater Stadium Co.", "Stadium South Stand"),
    ("1008", "Quarry Brewing", "Quarry Taproom"),
    ("1009", "Lindgren & Daughters", "Lindgren Beer Hall"),
    ("1010", "Ashby Golf Club", "Ashby Clubhouse"),
)
CREW = {"Mo": "Mo Haddad", "JT": "Jess Tarkin", "Bill": "Bill Okafor"}
MAKES = (("Polarline", "PL-300"), ("Polarline", "PL-500"), ("Brisk", "B 75"), ("Norwell", "Chillmaster 4"))
SPOTS = ("basement", "roof", "kitchen, above walk-in", "cellar", "behind bar")
WORK = (
    "cleaned condenser",
    "condenser cleaned, was very dirty",
    "PM - all good",
    "cleaned cond. + checked glycol",
    "checked pump, ok",
    "topped up glycol",
    "beer warm, condenser blocked. cleaned",
    "PM",
    "no access, bar closed",
)


def units() -> list[dict[str, Any]]:
    r = random.Random(11)
    found = []
    for n in range(60):
        bar = BARS[n % len(BARS)]
        make, model = r.choice(MAKES)
        found.append(
            {
                "tag": f"BW-{201 + n}",
                "bar": bar[2],
                "make": make,
                "model": model,
                "serial": f"{r.randrange(10**6):06d}",
                "spot": r.choice(SPOTS),
                "tank": r.choice((8, 10, 15, 20)),
                "set": r.choice((27, 28, 28, 28.5)),
                "mix": r.choice((30, 33, 35)),
                "installed": dt.date(2016 + n % 7, 1 + n % 12, 1 + n % 27),
            }
        )
    return found


def visits() -> list[dict[str, Any]]:
    """Three visits a year of each unit, by day."""
    r = random.Random(12)
    found = []
    for year in (2023, 2024, 2025):
        for unit in units():
            for month in (2, 6, 10):
                day = dt.date(year, month, 1 + r.randrange(27))
                found.append(
                    {
                        "day": day,
                        "unit": unit,
                        "who": r.choice(list(CREW)),
                        "bath": round(r.gauss(29, 1.2), 1),
                        "return": round(r.gauss(33, 1.5), 1),
                        "amps": round(r.gauss(6.8, 0.4), 1),
                        "brix": round(r.gauss(21, 1.5), 1),
                        "suction": round(r.gauss(38, 3)),
                        "head": round(r.gauss(190, 15)),
                        "work": r.choice(WORK),
                    }
                )
    return sorted(found, key=lambda v: v["day"])


def write(path: Path) -> None:
    book = xlsxwriter.Workbook(str(path))
    bold, day = book.add_format({"bold": True}), book.add_format({"num_format": "m/d/yyyy"})
    notes = book.add_worksheet("READ ME")
    for row, text in enumerate(
        (
            "Brinewell Draught Service - service book",
            "",
            "Yellow = bar has not paid",
            "BW numbers are on the sticker on the lid",
            "Joan keeps this. Please do NOT sort!",
            "Mo = Mo Haddad, JT = Jess Tarkin, Bill = Bill Okafor",
        )
    ):
        notes.write(row, 0, text)
    _accounts(book, bold)
    _machines(book, bold, day)
    _log_2023(book, bold, day)
    _log_2024(book, bold)
    _log_2025(book, bold, day)
    _parts(book, bold, day)
    book.close()


def _accounts(book: Any, bold: Any) -> None:
    sheet = book.add_worksheet("Accounts")
    sheet.write(0, 0, "Accounts - updated Jan 26 Joan", bold)
    sheet.merge_range(2, 0, 2, 1, "Customer", bold)
    sheet.merge_range(2, 2, 2, 5, "Bar", bold)
    sheet.merge_range(2, 6, 2, 7, "Contact", bold)
    for column, text in enumerate(("No.", "Name", "Name", "Street", "Town", "Closed", "Name", "Phone")):
        sheet.write(3, column, text, bold)
    r = random.Random(13)
    row, last = 4, ""
    for no, customer, bar in BARS:
        if no != last:
            sheet.write(row, 0, int(no))
            sheet.write(row, 1, customer)
        last = no
        sheet.write(row, 2, bar)
        sheet.write(row, 3, f"{r.randrange(2, 900)} {r.choice(('Front', 'Mill', 'Harbor', 'Pell'))} St")
        sheet.write(row, 4, r.choice(TOWNS))
        sheet.write(row, 5, r.choice(("", "Mon", "Mondays", "Sun + Mon", "")))
        sheet.write(row, 6, r.choice(("Dana", "Luis", "ask for Kit", "")))
        sheet.write(row, 7, f"555-01{r.randrange(10, 99)}")
        row += 1


def _machines(book: Any, bold: Any, day: Any) -> None:
    sheet = book.add_worksheet("Machines")
    groups = (("Unit", 0, 3), ("Where", 4, 5), ("Glycol", 6, 8))
    for text, first, last in groups:
        sheet.merge_range(0, first, 0, last, text, bold)
    headings = (
        "Sticker",
        "Make",
        "Model",
        "Serial",
        "Bar",
        "Spot",
        "Tank (gal)",
        "Set (F)",
        "Mix %",
        "Installed",
        "Notes",
    )
    for column, text in enumerate(headings):
        sheet.write(1, column, text, bold)
    row = 2
    for n, unit in enumerate(units()):
        if n % 20 == 0:
            sheet.write(row, 0, f"--- {TOWNS[n // 20]} ---", bold)
            row += 1
        for column, key in enumerate(("tag", "make", "model", "serial", "bar", "spot", "tank", "set", "mix")):
            sheet.write(row, column, unit[key])
        _installed(sheet, row, n, unit["installed"], day)
        if n == 17:
            sheet.write(row, 10, "noisy fan, asked twice")
        row += 1
    sheet.write(row + 1, 0, "Total")
    sheet.write(row + 1, 1, 60)


def _installed(sheet: Any, row: int, n: int, installed: dt.date, day: Any) -> None:
    if n % 9 == 4:
        sheet.write(row, 9, installed.year)  # only the year is known
    elif n % 13 != 5:
        sheet.write_datetime(row, 9, dt.datetime.combine(installed, dt.time()), day)


def _log_2023(book: Any, bold: Any, day: Any) -> None:
    """One line a visit, real dates, plain numbers, units in the headings."""
    sheet = book.add_worksheet("2023")
    headings = ("Date", "Sticker", "Bar", "Tech", "Bath (F)", "Return (F)", "Amps", "Brix", "Work done")
    for column, text in enumerate(headings):
        sheet.write(0, column, text, bold)
    for row, visit in enumerate((v for v in visits() if v["day"].year == 2023), start=1):
        sheet.write_datetime(row, 0, dt.datetime.combine(visit["day"], dt.time()), day)
        sheet.write(row, 1, visit["unit"]["tag"] if row % 31 else visit["unit"]["tag"].replace("-", " ").lower())
        sheet.write(row, 2, visit["unit"]["bar"])
        sheet.write(row, 3, visit["who"])
        if visit["work"] != "no access, bar closed":
            for column, key in ((4, "bath"), (5, "return"), (6, "amps"), (7, "brix")):
                sheet.write(row, column, visit[key] if (row + column) % 11 else "-")
        sheet.write(row, 8, visit["work"])


def _log_2024(book: Any, bold: Any) -> None:
    """Somebody else kept it: dates as text in two styles, decimal commas, degree signs, and lines for several units."""
    sheet = book.add_worksheet("2024")
    for column, text in enumerate(("Day", "Unit", "Who", "Bath °F", "Return °F", "Brix", "Notes")):
        sheet.write(1, column, text, bold)
    sheet.write(0, 0, "2024 (Bill)", bold)
    kept = [v for v in visits() if v["day"].year == 2024]
    row = 2
    for n, visit in enumerate(kept):
        style = ("%d.%m.%Y", "%b %d, %Y")[n % 7 == 3]
        sheet.write(row, 0, visit["day"].strftime(style))
        tag, note = visit["unit"]["tag"], visit["work"]
        if n % 29 == 10:
            tag = tag.replace("BW-", "WB-")  # typing error
        if n % 23 == 6:
            other = units()[(int(tag[-3:]) - 201 + 16) % 60]["tag"]
            sheet.write(row, 1, f"{tag}, {other}")
            sheet.write(row, 6, "cleaned both")
            sheet.write(row, 2, CREW[visit["who"]])
            row += 1
            continue
        sheet.write(row, 1, tag)
        sheet.write(row, 2, CREW[visit["who"]] if n % 5 else visit["who"])
        if note != "no access, bar closed":
            sheet.write(row, 3, str(visit["bath"]).replace(".", ","))
            sheet.write(row, 4, f"{visit['return']}°" if n % 4 else f"{visit['return']} °F")
            sheet.write(row, 5, visit["brix"])
        sheet.write(row, 6, note)
        row += 1


def _log_2025(book: Any, bold: Any, day: Any) -> None:
    """Two rows of headings, and a line of totals at the end of each month that has one."""
    sheet = book.add_worksheet("2025")
    sheet.merge_range(0, 3, 0, 4, "Temps (F)", bold)
    sheet.merge_range(0, 5, 0, 6, "Pressures (psi)", bold)
    headings = ("Date", "Unit", "Tech", "Bath", "Return", "Suction", "Head", "Amps", "Brix", "What we did", "Min.")
    for column, text in enumerate(headings):
        sheet.write(1, column, text, bold)
    row, month = 2, 2
    for n, visit in enumerate(v for v in visits() if v["day"].year == 2025):
        if visit["day"].month != month:
            sheet.write(row, 0, f"Total {dt.date(2025, month, 1):%B}")
            row, month = row + 2, visit["day"].month
        sheet.write_datetime(row, 0, dt.datetime.combine(visit["day"], dt.time()), day)
        sheet.write(row, 1, visit["unit"]["tag"])
        sheet.write(row, 2, visit["who"])
        if visit["work"] != "no access, bar closed":
            for column, key in ((3, "bath"), (4, "return"), (5, "suction"), (6, "head"), (7, "amps"), (8, "brix")):
                sheet.write(row, column, visit[key] if n % 17 else "n/a")
        sheet.write(row, 9, visit["work"])
        sheet.write(row, 10, 30 + n % 4 * 15)
        row += 1


def _parts(book: Any, bold: Any, day: Any) -> None:
    sheet = book.add_worksheet("Parts")
    for column, text in enumerate(("Date", "Unit", "Part", "New one", "Serial", "Why", "Tech")):
        sheet.write(0, column, text, bold)
    r = random.Random(14)
    kept = [v for v in visits() if v["work"] == "PM"]
    for row, visit in enumerate(r.sample(kept, 25), start=1):
        sheet.write_datetime(row, 0, dt.datetime.combine(visit["day"], dt.time()), day)
        sheet.write(row, 1, visit["unit"]["tag"])
        sheet.write(row, 2, r.choice(("Pump", "pump motor", "fan motor", "Switch", "thermostat", "compressor relay")))
        sheet.write(row, 3, r.choice(("PX 2000", "Type 7 FM", "", "generic")))
        sheet.write(row, 4, r.choice(("", f"S{r.randrange(9999)}")))
        sheet.write(row, 5, r.choice(("burnt", "leaking", "seized", "noisy, before it fails", "?")))
        sheet.write(row, 6, visit["who"])


if __name__ == "__main__":
    write(Path(sys.argv[1]))
