"""The glycol units of Sallow Ferry, one row each, and their trunks."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from fleet_models import MODELS, Model

Record = dict[str, Any]

OURS = "Towpath Cooling"
OTHERS = "Prairie Bar Outfitters"


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit. `age`: days since it was installed, None when nobody knows; `retired`: days since it was retired."""

    tag: str
    site: str
    model: str
    serial: str
    place: str
    age: int | None
    by: str | None
    trunk: str
    products: tuple[str, ...]
    retired: int | None = None

    @property
    def make(self) -> Model:
        """What is the same on every unit of this model."""
        return MODELS[self.model]

    @property
    def taps(self) -> list[str]:
        """The tap numbers, as the bar counts them."""
        return [str(number) for number in range(1, len(self.products) + 1)]


# surroundings, length, temperature of each run, from the cooler to the taps
_TRUNKS = {
    "short": [("cooler", "8 ft", "37 degF"), ("indoor", "35 ft", "72 degF")],
    "cellar": [("cooler", "12 ft", "37 degF"), ("underground", "60 ft", "58 degF"), ("indoor", "18 ft", "74 degF")],
    "attic": [("cooler", "6 ft", "38 degF"), ("attic", "85 ft", "105 degF"), ("indoor", "22 ft", "73 degF")],
    "yard": [("cooler", "10 ft", "37 degF"), ("outdoor", "48 ft", "88 degF"), ("indoor", "15 ft", "75 degF")],
    "slab": [("cooler", "9 ft", "36 degF"), ("underground", "120 ft", "60 degF")],
    "metric": [("cooler", "3 m", "3 degC"), ("indoor", "24 m", "23 degC"), ("attic", "11 m", "38 degC")],
}

_SIX = ("lager", "pale ale", "stout", "wheat beer", "cider", "porter")

UNITS = [
    Unit("GU-0101", "heron-landing", "HS-60", "HS60-2017-0443", "cellar, beside the walk-in", 2480, OTHERS, "cellar",
         ("lager", "lager", "pale ale", "stout", "cider")),
    Unit("GU-0102", "heron-landing", "K9", "K9-118820", "on the walk-in roof, kitchen side", 1790, OURS, "short",
         ("lager", "wheat beer", "porter")),
    Unit("GU-0103", "heron-brickyard", "Keel 40", "BK40-70516", "old kiln room", 1405, OURS, "slab",
         ("lager", "pale ale", "stout", "cider")),
    Unit("GU-0104", "heron-bluff", "Keel 40", "BK40-81177", "plant cupboard under the terrace", 640, OURS, "short",
         ("lager", "pale ale", "cider")),
    Unit("GU-0105", "heron-farside", "HS-25", "HS25-2019-1207", "over the walk-in", 1930, OTHERS, "attic",
         ("lager", "amber ale", "cider")),
    Unit("GU-0106", "heron-farside", "K9", "K9-121054", "pot wash corridor", 1180, OURS, "short",
         ("lager", "stout")),
    Unit("GU-0201", "retort-hall", "Keel 120", "BK120-3301", "mezzanine, north end", 2210, OURS, "attic",
         (*_SIX, "lager", "pale ale")),
    Unit("GU-0202", "retort-hall", "Longline 3", "TL3-00918", "mezzanine, south end", 1655, OURS, "cellar",
         (*_SIX, "brown ale")),
    Unit("GU-0203", "retort-hall", "HS-25", "HS25-2021-0088", "oyster bar back counter", 1290, OURS, "short",
         ("lager", "stout")),
    Unit("GU-0204", "retort-yard", "Longline 3", "TL3-01242", "cage beside the purifier shed", 905, OURS, "yard",
         ("lager", "pale ale", "cider", "wheat beer")),
    Unit("GU-0301", "ferryman", "HS-25", "HS25-2012-0619", "under the trapdoor", 4310, OTHERS, "cellar",
         ("lager", "stout", "cider"), 425),
    Unit("GU-0302", "ferryman", "Keel 40", "BK40-90233", "under the trapdoor", 424, OURS, "cellar",
         ("lager", "stout", "cider", "porter")),
    Unit("GU-0401", "cleaver-ash", "HS-60", "HS60-2018-0972", "kitchen roofline, over the smokers", 2050, OTHERS,
         "attic", ("lager", "amber ale", "stout", "cider")),
    Unit("GU-0402", "cleaver-ash", "K9", "K9-119377", "patio bar cupboard", 1570, OURS, "yard",
         ("lager", "wheat beer", "cider")),
    Unit("GU-0501", "eelbasket", "K9", "K9-117905", "fish store, above the sink", 1865, OTHERS, "cellar",
         ("lager", "stout", "pale ale")),
    Unit("GU-0601", "drovers-pens", "HS-60", "HS60-2020-0311", "behind the grill line", 1460, OURS, "attic",
         ("lager", "lager", "amber ale", "stout")),
    Unit("GU-0602", "drovers-pens", "Keel 40", "BK40-95518", "new saloon bar", 11, OTHERS, "short",
         ("lager", "cider", "pale ale")),
    Unit("GU-0701", "skittle-barn", "HS-25", "HS25-2020-0754", "pin store behind lane 12", 1385, OURS, "slab",
         ("lager", "wheat beer", "root beer")),
    Unit("GU-0702", "skittle-barn", "K9", "K9-130660", "gallery bar", 6, OTHERS, "short", ("lager", "cider")),
    Unit("GU-0801", "sowers-field", "Longline 3", "TL3-00877", "concession block A", 1710, OTHERS, "slab", _SIX),
    Unit("GU-0802", "sowers-field", "HS-60", "HS60-2022-0146", "third-base stand", 775, OURS, "yard",
         ("lager", "lager", "cider", "pale ale")),
    Unit("GU-0901", "bellows-reed", "Number Four", "F4-5523", "under the stage", None, None, "slab",
         ("lager", "stout", "ginger beer")),
    Unit("GU-1001", "weirgate", "Keel 120", "BK120-3418", "plant room B2", 1520, OURS, "metric",
         (*_SIX, "brown ale", "wheat beer")),
    Unit("GU-1002", "weirgate", "Longline 3", "TL3-01067", "river terrace pantry", 1240, OTHERS, "metric",
         ("lager", "pale ale", "stout", "cider")),
]  # fmt: skip


def _trunk(unit: Unit) -> Record:
    metric = unit.trunk == "metric"
    bore = "0.25 in" if unit.trunk == "short" else "0.3125 in"
    return {
        "code": "bar",
        "core_diameter": "64 mm" if metric else "2.5 in",
        "insulation_thickness": "25 mm" if metric else "1 in",
        "glycol_bore": "0.375 in",
        "runs": [
            {"surroundings": around, "length": length, "temperature": temperature}
            for around, length, temperature in _TRUNKS[unit.trunk]
        ],
        "beer_lines": [
            {"tap": tap, "bore": bore, "tubing": "barrier", "product": beer}
            for tap, beer in zip(unit.taps, unit.products, strict=True)
        ],
    }  # fmt: skip


def _components(unit: Unit, installed_on: str | None) -> list[Record]:
    dated = {"installed_on": installed_on} if installed_on else {}
    return [{**part, **dated} for part in unit.make.parts]


def _days_before(today: date, days: int | None) -> str | None:
    return None if days is None else (today - timedelta(days=days)).isoformat()


def units(today: date) -> Iterator[Record]:
    """The units, in the import format."""
    for unit in UNITS:
        installed_on = _days_before(today, unit.age)
        yield {
            "record": "unit",
            "tag": unit.tag,
            "site": unit.site,
            "maker": unit.make.maker,
            "model": unit.model,
            "serial": unit.serial,
            "place": unit.place,
            "installed_on": installed_on,
            "installed_by": unit.by,
            "retired_on": _days_before(today, unit.retired),
            "supply": unit.make.supply,
            "refrigeration": unit.make.refrigeration,
            "bath": unit.make.bath,
            "components": _components(unit, installed_on),
            "trunks": [_trunk(unit)],
        }
