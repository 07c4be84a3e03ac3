"""Three more untidy files of an invented company: a sheet for each customer, a diary, a bookkeeping program's export.

Written before the guess had seen them; what it got wrong then is put right in it, not here.
"""

import csv
from datetime import date, timedelta
from io import StringIO
from random import Random

import openpyxl

from tests.workbook import saved

CUSTOMERS = ("Brass Anchor", "Cedar Tap House", "Old Foundry", "Quarry Inn", "Silver Dollar", "Tin Roof", "Wharf 9")
HEADS = ("Date", "Chiller", "Tech", "Bath temp", "Glycol %", "Amps", "What was done", "Parts", "Next")
DONE = (
    *("cleaned condenser, checked pump", "condenser cleaned - filthy", "routine", "replaced fan motor"),
    *("topped up glycol 2 gal", "warm beer call; reset t-stat", "same"),
)
NOTES = (
    "{u}: bath {t}F, coil blown out",
    "{u} warm pours, found pump siezed, swapped pump. Bath back to {t} deg F",
    "checked {u} - ok. glycol {g}%",
    "{u} cond. fan noisy, ordered",
    "{u}: comp drawing {a} amps, cleaned coil, {t}F when left",
    "Pump was replaced by other firm. {u}",
    "phoned - told them to switch {u} off and on",
    "{u}  brix {g}, added 1 gal",
    "new t-stat on {u}, set 28",
)
NO_UNIT = ("no access, locked", "did both units, 30F and 29F")
PLACES = {
    "Heron": ("GU-4", "GU-5"), "The Heron": ("GU-4",), "Lantern Rm": ("GU-7",), "Mill hse": ("GU-9",),
    "Mill House": ("GU-9",), "Copper Pot": ("GU-11", "GU-12"),
}  # fmt: skip
ARTICLES = (
    ("L100", "Labour maintenance"), ("L200", "Labour call-out"), ("P310", "Condenser fan motor 16W"),
    ("P320", "Circulation pump"), ("M010", "Glycol concentrate 5L"), ("T001", "Travel flat rate"),
    ("L110", "Condenser cleaning"),
)  # fmt: skip
LEDGER_HEADS = ("Doc.No", "Posting date", "Cust.No", "Customer name", "Ship-to", "Asset", "Art.No", "Description")
DEBTORS = (
    ("10010", "Anchor Hospitality LLC", (("Anchor Bar", "A-17"), ("Anchor Grill", "A-18"))),
    ("10022", "Blue Door Inc", (("Blue Door", "A-02"),)),
    ("10031", "Kettle & Co", (("Kettle Main St", "A-31"), ("Kettle Pier", "A-32"))),
)


def sheets_of_customers() -> tuple[bytes, int]:
    """A sheet for each customer, its chillers above and its visits below; how many rows of visits there are."""
    chance, book, rows, chillers = Random(77), openpyxl.Workbook(), 0, 0
    book.remove(book.active)
    for customer in CUSTOMERS:
        sheet = book.create_sheet(customer)
        units = [f"CH-{chillers + n:03}" for n in range(1, 1 + chance.choice([1, 2, 3]))]
        chillers += len(units)
        sheet.append([customer.upper()])
        sheet.append(["Contact:", "Jess (bar mgr)", None, "Tel.", f"555-01{chance.randrange(10, 99)}"])
        sheet.append(["Address", f"{chance.randrange(10, 900)} Mill Road"])
        sheet.append([])
        sheet.append(["Chiller", "Make", "Model", "Ser. no.", "Location", "Put in"])
        for unit in units:
            where = chance.choice(["cellar", "roof", "behind bar"])
            sheet.append([unit, "Perlwell", "P-75", f"{chance.randrange(10**5, 10**6)}", where, "summer 2018"])
        sheet.append([])
        sheet.append(HEADS)
        day = date(2023, 1, 9)
        while day < date(2026, 1, 1):
            sheet.append(_visit(chance, day, chance.choice(units)))
            rows, day = rows + 1, day + timedelta(days=chance.randrange(50, 120))
        sheet.append([])
        sheet.append(["Paid up to Dec."])
    prices = book.create_sheet("Price list")
    for row in (["Item", "Price"], ["Filter", 12.5]):
        prices.append(row)
    return saved(book), rows


def _visit(chance: Random, day: date, unit: str) -> list[object]:
    shown = chance.choice([day, day, f"{day:%m/%d/%Y}", f"{day.isoformat()}"])
    tag = unit.replace("-", " ").lower() if chance.random() < 0.1 else unit
    bath, amps = chance.choice([29, 28.5, "28F", "30 °F", None, "n/a"]), chance.choice([4.1, "3.9A", None])
    glycol, parts = chance.choice([33, 35, "34%", None]), chance.choice([None, None, "fan motor", "2 gal glycol"])
    return [shown, tag, chance.choice(["Sal", "Sal", "Dee"]), bath, glycol, amps, chance.choice(DONE), parts, None]


def diary() -> tuple[bytes, int, int]:
    """Days, places and sentences, some of months alone; how many rows there are, and how many name no unit."""
    chance, book, rows, unnamed = Random(78), openpyxl.Workbook(), 0, 0
    sheet, day = book.active, date(2023, 2, 3)
    sheet.title = "Service diary"
    for row in (["SERVICE DIARY  -  started Feb 2023"], [], ["Day", "Where", "Notes"]):
        sheet.append(row)
    while day < date(2025, 12, 20):
        where = chance.choice(list(PLACES))
        unit = chance.choice(PLACES[where])
        tag = chance.choice([unit, unit, unit.replace("-", ""), unit.replace("-", " ")])
        vague = chance.random() < 0.05
        text = chance.choice(NO_UNIT if vague else NOTES)
        numbers = {"t": chance.randrange(26, 34), "g": chance.randrange(28, 38), "a": chance.choice([4.2, "5"])}
        shown = chance.choice([day, f"{day.month}/{day.day}/{day:%y}"])
        sheet.append([shown, where, text.format(u=tag, **numbers)])
        unclear = vague and where not in ("Lantern Rm", "Mill hse", "Mill House")
        rows, unnamed = rows + 1, unnamed + unclear
        if not unclear and chance.random() < 0.15:
            sheet.append([None, None, "   (cont.) left invoice with bar"])
        if chance.random() < 0.05:
            sheet.append([f"--- {'January' if day.month == 1 else 'June'} ---"])
        day += timedelta(days=chance.randrange(3, 12))
    return saved(book), rows, unnamed


def ledger() -> tuple[bytes, dict[str, int]]:
    """The lines of invoices and credits with codes; how many of each article were sold, each once a document."""
    chance, written, sold = Random(79), StringIO(), dict.fromkeys((code for code, _ in ARTICLES), 0)
    table = csv.writer(written, delimiter=";")
    table.writerow([*LEDGER_HEADS, "Qty", "Net amount", "Empl."])
    number, day = 40001, date(2023, 1, 4)
    while day < date(2025, 12, 1):
        code, name, sites = chance.choice(DEBTORS)
        site, asset = chance.choice(sites)
        for article, text in chance.sample(ARTICLES, chance.choice([1, 2, 3])):
            credit = chance.random() < 0.1
            sold[article] += not credit
            shown = [number, f"{day:%d.%m.%Y}", code, name, site, chance.choice([asset, asset, asset, ""])]
            table.writerow([*shown, article, text, "1,00", "-95,00" if credit else "1.240,50", "E7"])
        number, day = number + 1, day + timedelta(days=chance.randrange(4, 15))
    table.writerow(["", "", "", "", "", "", "", "Total", "", "48.210,00", ""])
    return written.getvalue().encode("cp1252"), sold
