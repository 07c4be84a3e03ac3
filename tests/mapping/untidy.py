"""Three untidy workbooks of an invented company, with what is true of them: 60 units, 35 sites, three years.

`python -m tests.mapping.untidy FOLDER` writes them. Every name, maker and number is invented.
"""

import sys
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any

import openpyxl
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill

from tests.workbook import saved

FIRST = (
    *("Copper", "Lantern", "Heron", "Juniper", "Quarry", "Saddle"),
    *("Mill", "Anchor", "Thistle", "Foundry", "Marble", "Otter"),
)
SECOND = ("Room", "Tap", "Cellar", "House", "Yard", "Hall", "Garden")
MAKERS = ("Norvane", "Brightwater", "Kestrel Works")
TECHS = ("Rhea Stone", "Tobin Marsh", "Ida Quill")
PLACES = ("upstairs bar", "downstairs bar", "patio", "kitchen line", "banquet")
TODAY = date(2026, 6, 9)


@dataclass
class Truth:
    """What was done at a unit on a day."""

    tag: str
    day: date
    customer: str
    tech: str
    bath: int
    brix: float | None
    cleaned: bool
    part: str | None
    call: bool


@dataclass
class Company:
    """The invented company: units by tag with their customers, and its visits in order."""

    customers: list[str] = field(default_factory=list)
    units: dict[str, dict[str, Any]] = field(default_factory=dict)
    visits: list[Truth] = field(default_factory=list)


def company(seed: int = 16, units: int = 60, sites: int = 35) -> Company:
    """The same company for the same seed."""
    random, made = Random(seed), Company()
    names = [f"{one} {two}" for one in FIRST for two in SECOND]
    random.shuffle(names)
    made.customers = sorted(names[:sites])
    owners = [*made.customers, *random.choices(made.customers, k=units - sites)]
    count: dict[str, int] = {}
    for n, owner in enumerate(owners, 1):
        place = PLACES[count.get(owner, 0) % len(PLACES)]
        count[owner] = count.get(owner, 0) + 1
        made.units[f"GU-{n:04}"] = {
            "customer": owner, "place": place, "maker": random.choice(MAKERS), "model": f"K{random.randint(10, 99)}",
            "serial": f"{random.randint(10000, 99999)}",
            "installed": date(2018, 1, 1) + timedelta(days=random.randint(0, 1500)),
        }  # fmt: skip
    for tag, unit in made.units.items():
        day = date(2023, 6, 1) + timedelta(days=random.randint(0, 60))
        while day < TODAY - timedelta(days=5):
            made.visits.append(_visit(random, tag, unit["customer"], day))
            day += timedelta(days=random.randint(60, 120))
    made.visits.sort(key=lambda visit: (visit.day, visit.tag))
    return made


def _visit(random: Random, tag: str, customer: str, day: date) -> Truth:
    call = random.random() < 0.2
    part = (
        random.choice(("pump", "power switch", "fan motor", "controller")) if call and random.random() < 0.5 else None
    )
    brix = round(random.uniform(18, 27) * 2) / 2 if random.random() < 0.6 else None
    bath = random.randint(26, 31) if not call else random.randint(34, 46)
    return Truth(tag, day, customer, random.choice(TECHS), bath, brix, random.random() < 0.6, part, call)


def a_sheet_each(made: Company) -> bytes:
    """A list per customer in a sheet of its own: labels above, headings that differ, blanks for 'as above'."""
    random, book = Random(1), openpyxl.Workbook()
    book.remove(book.active)
    notes = book.create_sheet("READ ME")
    notes["A1"] = "ask Ida before you change anything"
    for n, customer in enumerate(made.customers):
        sheet = book.create_sheet(customer[:31])
        sheet["A1"] = customer
        sheet["A1"].font = Font(bold=True, size=14)
        sheet["A2"], sheet["B2"] = "Phone:", f"555-01{n:02}"
        sheet["A3"] = f"Address: {n + 1} Quay Street"
        late = n % 3 == 0
        heads = ["Date", "Unit", "Bath F", "Brix", "Cond cleaned", "Part replaced", "Tech", "Notes"]
        if late:
            heads = ["DATE ", "Unit #", "Bath (F)", "Glycol brix", "Cond. cleaned", "Part replaced", "Who", "Comments"]
        sheet.append([])
        sheet.append(heads)
        last = None
        for visit in (v for v in made.visits if v.customer == customer):
            sheet.append([None if visit.day == last else _day(random, visit), *_cells(random, made, visit)])
            last = visit.day
        if n == 4:
            sheet.cell(7, 3).comment = Comment("thermometer was new", "Ida")
        if n == 5:
            sheet.cell(8, 8).fill = PatternFill("solid", fgColor="FFFF0000")
    return saved(book)


def _day(random: Random, visit: Truth) -> Any:
    return f"{visit.day.month}/{visit.day.day}/{visit.day:%y}" if random.random() < 0.15 else visit.day


def _cells(random: Random, made: Company, visit: Truth) -> list[Any]:
    unit = visit.tag if random.random() < 0.9 else visit.tag.lower().replace("-", " ")
    bath = visit.bath if random.random() < 0.8 else f"{visit.bath} F"
    tech = visit.tech if random.random() < 0.9 else None
    remark = random.choice(("all good", "owner asked about price", "left note", "dusty"))
    note = f"{made.units[visit.tag]['place']}, {remark}" + (" CALL OUT" if visit.call else "")
    return [unit, bath, visit.brix, "x" if visit.cleaned else None, visit.part, tech, note]


def one_long_log(made: Company) -> bytes:
    """One log in free text: dates in two styles, years as headings, units missing, tags misspelt, blanks and marks."""
    random, book = Random(2), openpyxl.Workbook()
    units = book.active
    units.title = "Units"
    units.append(["Tag", "Customer", "Where", "Make", "Model", "Serial", "Installed"])
    for tag, unit in made.units.items():
        units.append(
            [tag, unit["customer"], unit["place"], unit["maker"], unit["model"], unit["serial"], unit["installed"]]
        )
    sheet = book.create_sheet("LOG")
    sheet.append(["service log - everybody write here please"])
    sheet.append(["date", "unit", "who", "what"])
    year = None
    for visit in made.visits:
        if visit.day.year != year:
            year = visit.day.year
            sheet.append([f"---- {year} ----"])
        short = {"Rhea Stone": "Rhea", "Tobin Marsh": "Tobin", "Ida Quill": "Ida"}[visit.tech]
        if short == "Ida":
            day = f"{visit.day.day}.{visit.day.month}.{visit.day:%y}"
        elif random.random() < 0.3:
            day = f"{visit.day.month}/{visit.day.day}"
        else:
            day = f"{visit.day.month}/{visit.day.day}/{visit.day:%y}"
        sheet.append([day, _misspelt(random, visit.tag), short, _words(random, visit)])
    return saved(book)


def _misspelt(random: Random, tag: str) -> str:
    n = int(tag[3:])
    chance = random.random()
    if chance < 0.7:
        return tag
    return random.choice(
        (f"gu{n:04}", f"GU {n}", f"GU{n:04}", f"GV-{n:04}", f"G-{n:04}", tag.replace("0", "O", 1), f"{tag}\u00a0")
    )


def _words(random: Random, visit: Truth) -> str:
    words = [random.choice(("bath {}", "bath temp {}", "tank at {}")).format(visit.bath)]
    if visit.brix is not None:
        words.append(f"glycol {visit.brix:g} brix" if random.random() < 0.5 else f"refractometer {visit.brix:g}")
    if visit.cleaned:
        words.append(random.choice(("cleaned condenser", "cleaned cond", "blew out the coil")))
    if visit.part:
        words.append(f"replaced {visit.part}")
    elif visit.call:
        words.append(random.choice(("needs new pump, quoted", "ordered a switch", "told them the compressor is going")))
    return ", ".join(words) + random.choice((".", "", " - ok"))


ITEMS = {"PM": "Preventive maintenance, glycol unit", "SC": "Service call", "P-140": "Pump", "S-20": "Power switch",
         "F-9": "Condenser fan motor", "T-7": "Temperature controller"}  # fmt: skip
PART_ITEMS = {"pump": "P-140", "power switch": "S-20", "fan motor": "F-9", "controller": "T-7"}


def accounts_export(made: Company) -> bytes:
    """An accountant's export: CSV in Windows-1252 with semicolons and decimal commas, a preamble, codes, totals."""
    lines = ["Coldline Service;;;;;;;;", "Sales by item détail;;;;;;;;", f"Printed {TODAY:%d.%m.%Y};;;;;;;;", ""]
    lines.append("Date;Num;Customer no;Customer;Item;Description;Qty;Amount;Rep")
    numbers = {name: 10100 + 10 * n for n, name in enumerate(made.customers)}
    codes = {"Rhea Stone": "RS", "Tobin Marsh": "TM", "Ida Quill": "IQ"}
    for n, visit in enumerate(made.visits, 4001):
        item = "SC" if visit.call else "PM"
        head = f"{visit.day:%d.%m.%Y};{n};{numbers[visit.customer]};{visit.customer}"
        lines.append(f"{head};{item};{ITEMS[item]} {visit.tag};1,00;{1 + n % 200},50;{codes[visit.tech]}")
        if visit.part:
            item = PART_ITEMS[visit.part]
            lines.append(f"{head};{item};{ITEMS[item]} {visit.tag};1,00;1.{n % 900:03},00;{codes[visit.tech]}")
        if n % 50 == 0:
            lines.append(f";;;;;Total;;{n},00;")
    return "\r\n".join(lines).encode("cp1252")


def unit_list(made: Company) -> bytes:
    """The units as another CSV, which goes in before the accounts: UTF-8 with BOM, commas."""
    rows = ["Tag,Customer,Location in building,Make,Model,Serial no"]
    rows += [
        ",".join((tag, u["customer"], u["place"], u["maker"], u["model"], u["serial"])) for tag, u in made.units.items()
    ]
    return ("\ufeff" + "\n".join(rows) + "\n").encode()


if __name__ == "__main__":
    folder, everything = Path(sys.argv[1]), company()
    folder.mkdir(parents=True, exist_ok=True)
    for name, write in (
        ("customers.xlsx", a_sheet_each),
        ("log.xlsx", one_long_log),
        ("accounts.csv", accounts_export),
        ("units.csv", unit_list),
    ):
        (folder / name).writesaved(write(everything))
