"""A planned visit becomes a visit body in the import format."""

from datetime import datetime
from random import Random
from typing import Any
from uuid import UUID

from fleet_condition import Condition
from fleet_notebook import Notebook
from fleet_pen import PENS
from fleet_round import maintenance
from fleet_scene import Scene, note_task
from fleet_trouble import call, follow_up

Record = dict[str, Any]


def visit_id(rng: Random, moment: datetime) -> str:
    """A UUID as RFC 9562 lays out version 7: 48 bits of milliseconds, version, random, variant, random."""
    milliseconds = int(moment.timestamp() * 1000)
    bits = milliseconds << 80 | 7 << 76 | rng.getrandbits(12) << 64 | 2 << 62 | rng.getrandbits(62)
    return str(UUID(int=bits))


def installation(scene: Scene) -> Record:
    """A new unit set going."""
    notebook = scene.notebook
    for task in scene.job.tasks:
        note_task(scene, task)
    condensing = notebook.air("as_left")
    notebook.head(condensing, "as_left")
    notebook.glycol("as_left")
    notebook.level("as_left")
    notebook.bath(scene.rng.uniform(28, 30.5), "as_left")
    notebook.amps("compressor-1", "as_left", condensing=condensing)
    return {"work": "Set up, filled, bled, run in; taps cold when we left.", "outcome": "running"}


def by_others(scene: Scene) -> Record:
    """An attendance by another firm that we only heard of."""
    job = scene.job
    scene.replacements.append({"component": job.part, "reason": "unknown", "condition": "unknown",
                               "evidence": "reported", "on": job.day.isoformat(), "by": "others"})  # fmt: skip
    return {
        "work": f"Told by the manager: {job.firm} was here and put in {job.part}. Not seen by us.",
        "outcome": "running",
    }


def body(scene: Scene) -> Record:
    """The whole visit record."""
    job, notebook = scene.job, scene.notebook
    kinds = {"maintenance": maintenance, "service_call": call, "follow_up": follow_up, "installation": installation}
    parts = by_others(scene) if job.firm else kinds[job.kind](scene)
    visit: Record = {"record": "visit", "id": visit_id(scene.rng, notebook.left), "unit": job.unit.tag,
                     "kind": job.kind, "arrived_at": notebook.arrived.isoformat(),
                     "left_at": notebook.left.isoformat()}  # fmt: skip
    visit |= {"by": "others", "evidence": "reported", "firm": job.firm} if job.firm else {"technician": scene.who}
    parts |= {"readings": notebook.readings, "tasks": scene.tasks, "replacements": scene.replacements,
             "observations": scene.observations}  # fmt: skip
    order = ("complaint", "readings", "tasks", "replacements", "observations", "work", "advice", "outcome")
    return visit | {name: parts[name] for name in order if parts.get(name)}


def new_notebook(who: str, condition: Condition, arrived: datetime, left: datetime) -> Notebook:
    """An empty notebook in the technician's hand."""
    return Notebook(PENS[who], condition, arrived, left)
