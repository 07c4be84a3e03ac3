"""Fields of a unit's registration that the record has as lists: its first trunk, and when each task was last done."""

from collections.abc import Mapping
from typing import Any

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.record.fleet import RUN_SURROUNDINGS
from service.schemas.units import REPORTED
from service.web.plain_form import Field

WHERE = {
    "cooler": "in the cooler", "indoor": "indoors", "attic": "in the attic", "underground": "under ground",
    "outdoor": "outdoors",
}  # fmt: skip
SIZES = ("core_diameter", "insulation_thickness", "glycol_bore")
WITH_UNIT = "with its unit, such as "
NAMES = {task.code: task.name for task in CATALOGUE}
TRUNK = (
    Field(name="", label="Trunk to the taps", kind="closed"),
    *(
        Field(name=f"trunk.length.{code}", label=f"Length {WHERE[code]}", hint=f"{WITH_UNIT}20 m or 65 ft")
        for code in RUN_SURROUNDINGS
    ),
    Field(name="trunk.core_diameter", label="Diameter without insulation", hint=f"{WITH_UNIT}60 mm or 2.5 in"),
    Field(name="trunk.insulation_thickness", label="Thickness of the insulation", hint=f"{WITH_UNIT}25 mm or 1 in"),
    Field(name="trunk.glycol_bore", label="Bore of the glycol line", hint=f"{WITH_UNIT}9.5 mm or 0.375 in"),
    Field(name="trunk.taps", label="Taps", kind="codes", hint="with commas between, such as 1, 2, 3"),
)
LAST_DONE = (
    Field(name="", label="When work was last done before us", kind="closed"),
    *(Field(name=f"done.{code}", label=NAMES[code], hint="2026-10-14, 2026-10, 2026, or unknown") for code in REPORTED),
)


def lists_of(document: dict[str, Any]) -> tuple[dict[str, Any], Mapping[str, str]]:
    """A document with these fields as lists, and the field of the form for each place in them.

    >>> lists_of({"tag": "GU-1", "trunk": {"length": {"outdoor": "8 m"}}, "done": {"glycol_change": "2025"}})[0]
    {'tag': 'GU-1', 'trunks': [{'code': 'trunk-1', 'runs': [{'surroundings': 'outdoor', 'length': '8 m'}]}], \
'last_done': [{'task': 'glycol_change', 'on': '2025'}]}
    """
    made = {name: value for name, value in document.items() if name not in ("trunk", "done")}
    at: dict[str, str] = {}
    if trunk := document.get("trunk"):
        made["trunks"] = [_trunk(trunk)]
        lengths = trunk.get("length", {})
        at |= {f"trunks.0.runs.{n}": f"trunk.length.{code}" for n, code in enumerate(lengths)}
        at |= {f"trunks.0.{name}": f"trunk.{name}" for name in SIZES} | {"trunks.0.beer_lines": "trunk.taps"}
    if done := document.get("done"):
        made["last_done"] = [{"task": code, "on": None if on == "unknown" else on} for code, on in done.items()]
        at |= {f"last_done.{n}": f"done.{code}" for n, code in enumerate(done)}
    return made, at


def _trunk(given: Mapping[str, Any]) -> dict[str, Any]:
    made = {"code": "trunk-1"} | {name: given[name] for name in SIZES if name in given}
    if "length" in given:
        made["runs"] = [{"surroundings": code, "length": length} for code, length in given["length"].items()]
    if "taps" in given:
        made["beer_lines"] = [{"tap": tap} for tap in given["taps"]]
    return made
