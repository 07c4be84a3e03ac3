"""Sallow Ferry: who pays, where the glycol units stand, who comes to see them. All of it invented.

The town lies on both banks of a prairie river, the Osk. The east bank (Old Landing, Brickyard, Gasworks Row, Tannery
Flats, Upper Bluff) keeps Central time; over the Long Bridge lies the Far Side, which keeps Mountain time. Telephone
numbers are from the block kept for fiction (555-01xx), mail addresses from the domains kept for examples (RFC 2606).
"""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

Record = dict[str, Any]

LEFT_DAYS_AGO = 427  # Joss, 14 months ago
EAST, WEST = "America/Chicago", "America/Denver"

# code, name, contact, units shown
_CUSTOMERS = [
    ("crooked-heron", "Crooked Heron Taverns", "Maud Ellerwick", "us"),
    ("retort-house", "Retort House Beer Hall", "Caspar Dunnage", "us"),
    ("last-ferryman", "The Last Ferryman", "Oona Pellwright", "us"),
    ("cleaver-ash", "Cleaver & Ash Smokehouse", "Dov Hartsell", "us"),
    ("eelbasket", "Eelbasket Fish House", "Signe Brackwater", "si"),
    ("drovers-pens", "Drovers' Pens Steakhouse", "Wendell Oxcart", "us"),
    ("skittle-barn", "Skittle Barn Lanes", "Petra Lindenroth", "us"),
    ("sowers-field", "Sowers Field Ballpark", "Gus Tallgrass", "us"),
    ("bellows-reed", "Bellows & Reed", "Ilka Foxhollow", "us"),
    ("weirgate", "Weirgate Hotel", "Anselm Quayle-Moss", "si"),
]

# code, name, days since leaving the firm
_TECHNICIANS = [
    ("rhea", "Rhea Sandoval-Pike", None),
    ("bram", "Bram Achterkamp", None),
    ("ines", "Inés Quillfeather", None),
    ("joss", "Joss Tarrantine", LEFT_DAYS_AGO),
]


@dataclass(frozen=True, slots=True)
class Place:
    """A site, and where its round of maintenance stands today.

    `next_due`: days from today to the next condenser cleaning (negative: overdue). `lags`: how many rounds ago the
    quarterly, half-yearly and yearly work was last done.
    """

    code: str
    customer: str
    name: str
    address: str
    zone: str
    at: tuple[float, float]
    surroundings: str
    closed: tuple[str, ...]
    access: str
    technician: str
    next_due: int
    lags: tuple[int, int, int]


SITES = [
    Place("heron-landing", "crooked-heron", "Crooked Heron, Old Landing", "3 Towpath Lane, Old Landing", EAST,
          (44.8712, -100.5103), "greasy", ("monday",), "Back door on the towpath; ask for the cellar key.",
          "rhea", 0, (0, 2, 5)),
    Place("heron-brickyard", "crooked-heron", "Crooked Heron, Brickyard", "88 Kiln Street, Brickyard", EAST,
          (44.8790, -100.4987), "dusty", (), "Ring at the loading dock before 10.", "bram", 34, (0, 2, 4)),
    Place("heron-bluff", "crooked-heron", "Crooked Heron, Upper Bluff", "12 Lookout Terrace, Upper Bluff", EAST,
          (44.8841, -100.4890), "clean", ("tuesday",), "Parking behind the chapel.", "ines", 7, (0, 0, 6)),
    Place("heron-farside", "crooked-heron", "Crooked Heron, Far Side", "5 Bridgefoot Road, Far Side", WEST,
          (44.8688, -100.5321), "greasy", ("tuesday",), "West bank: they keep Mountain time.", "rhea", 9, (0, 1, 8)),
    Place("retort-hall", "retort-house", "Retort House, the Hall", "1 Gasholder Square, Gasworks Row", EAST,
          (44.8759, -100.5052), "greasy", (), "Units on the mezzanine; fixed ladder, wear the harness.",
          "bram", -3, (0, 3, 0)),
    Place("retort-yard", "retort-house", "Retort House, the Yard", "1 Gasholder Square, Gasworks Row", EAST,
          (44.8757, -100.5049), "outdoor", ("monday", "tuesday"), "Cage beside the purifier shed, padlock 4-digit.",
          "bram", -1, (0, 0, 4)),
    Place("ferryman", "last-ferryman", "The Last Ferryman", "41 Slipway Street, Old Landing", EAST,
          (44.8705, -100.5089), "greasy", ("sunday", "monday"), "Trapdoor behind the bar; mind the low beam.",
          "ines", 18, (2, 4, 7)),
    Place("cleaver-ash", "cleaver-ash", "Cleaver & Ash", "209 Tannery Road, Tannery Flats", EAST,
          (44.8823, -100.5144), "greasy", ("monday", "tuesday"), "Kitchen roofline over the smokers; call ahead.",
          "ines", -6, (0, 4, 9)),
    Place("eelbasket", "eelbasket", "Eelbasket Fish House", "7 Weir Steps, Old Landing", EAST,
          (44.8699, -100.5076), "greasy", ("sunday",), "Through the fish store; floor is wet.", "bram", 0, (2, 2, 3)),
    Place("drovers-pens", "drovers-pens", "Drovers' Pens", "640 Stockyard Road, Far Side", WEST,
          (44.8661, -100.5402), "greasy", ("wednesday",), "West bank; gate code from the office.",
          "rhea", 23, (1, 5, 2)),
    Place("skittle-barn", "skittle-barn", "Skittle Barn", "15 Granary Way, Brickyard", EAST,
          (44.8802, -100.4961), "dusty", ("sunday",), "Behind lane 12, through the pin store.", "ines", 12, (0, 4, 6)),
    Place("sowers-field", "sowers-field", "Sowers Field", "1000 Thresher Avenue, Upper Bluff", EAST,
          (44.8877, -100.4829), "outdoor", (), "Groundsman opens the third-base gate.", "rhea", 41, (0, 0, 8)),
    Place("bellows-reed", "bellows-reed", "Bellows & Reed", "27 Gasworks Row", EAST,
          (44.8751, -100.5067), "dusty", (), "Stage door; musicians sleep until noon.", "bram", 0, (1, 2, 3)),
    Place("weirgate", "weirgate", "Weirgate Hotel", "2 Weirgate, Old Landing", EAST,
          (44.8693, -100.5061), "clean", (), "Sign in at reception; the plant room is on level B2.",
          "ines", 52, (0, 3, 3)),
]  # fmt: skip


def company() -> Record:
    """The company itself, in the import format."""
    return {
        "record": "company", "name": "Towpath Cooling", "address": "5 Lockmaster Yard, Old Landing",
        "phone": "555-0100", "email": "office@towpath-cooling.example", "hours_per_day": 6.5, "time_zone": EAST,
        "latitude": 44.8702, "longitude": -100.5054, "day_starts_at": "07:30",
    }  # fmt: skip


def customers() -> list[Record]:
    """The customers, in the import format."""
    return [
        {"record": "customer", "code": code, "name": name, "contact": contact, "phone": f"555-01{20 + number:02d}",
         "email": f"{contact.split()[0].lower()}@{code}.example", "units_shown": shown}
        for number, (code, name, contact, shown) in enumerate(_CUSTOMERS)
    ]  # fmt: skip


def technicians(today: date) -> list[Record]:
    """The technicians, in the import format; one has left."""
    records = []
    for number, (code, name, left) in enumerate(_TECHNICIANS):
        record: Record = {"record": "technician", "code": code, "name": name, "phone": f"555-01{80 + number:02d}",
                          "email": f"{code}@towpath-cooling.example"}  # fmt: skip
        if left is not None:
            record["left_on"] = (today - timedelta(days=left)).isoformat()
        records.append(record)
    return records


def sites() -> list[Record]:
    """The sites, in the import format."""
    return [
        {"record": "site", "code": site.code, "customer": site.customer, "name": site.name, "address": site.address,
         "time_zone": site.zone, "latitude": site.at[0], "longitude": site.at[1], "surroundings": site.surroundings,
         "closed_weekdays": list(site.closed), "access": site.access, "technician": site.technician}
        for site in SITES
    ]  # fmt: skip
