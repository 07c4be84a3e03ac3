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
        made["trunks"] = [{"code": "trunk-1"} | trunk_of(trunk, {})]
        at |= fields_at(made["trunks"][0], 0)
    if done := document.get("done"):
        made["last_done"], places = last_done_of(done)
        at |= places
    return made, at


def last_done_of(done: Mapping[str, str | None]) -> tuple[list[dict[str, Any]], dict[str, str]]:
    """When tasks were last done, as the record lists them, and the field of each; an emptied field drops out."""
    kept = {code: on for code, on in done.items() if on is not None}
    listed = [{"task": code, "on": None if on == "unknown" else on} for code, on in kept.items()]
    return listed, {f"last_done.{n}": f"done.{code}" for n, code in enumerate(kept)}


def trunk_of(given: Mapping[str, Any], known: Mapping[str, Any]) -> dict[str, Any]:
    """A trunk with the sizes, lengths and taps that are given; what else is known of its runs and lines stays."""
    made = {**known, **{name: given[name] for name in SIZES if name in given}}
    if lengths := given.get("length"):
        runs = {run["surroundings"]: run for run in known.get("runs", ())}
        runs |= {code: runs.get(code, {"surroundings": code}) | {"length": to} for code, to in lengths.items()}
        made["runs"] = [run for run in runs.values() if run["length"] is not None]
    if "taps" in given:
        lines = {line["tap"]: line for line in known.get("beer_lines", ())}
        made["beer_lines"] = [lines.get(tap, {"tap": tap}) for tap in dict.fromkeys(given["taps"])]
    return made


def fields_at(trunk: Mapping[str, Any], place: int) -> dict[str, str]:
    """The field of the form for each place in a trunk of the document."""
    at = {
        f"trunks.{place}.runs.{n}": f"trunk.length.{run['surroundings']}" for n, run in enumerate(trunk.get("runs", ()))
    }
    at |= {f"trunks.{place}.{name}": f"trunk.{name}" for name in SIZES}
    return at | {f"trunks.{place}.beer_lines": "trunk.taps", f"trunks.{place}.code": "trunk.code"}
