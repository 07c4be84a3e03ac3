"""One visit while it is being written down."""

from dataclasses import dataclass, field
from datetime import datetime
from random import Random
from typing import Any

from fleet_condition import Condition
from fleet_notebook import Notebook
from fleet_plan import Job

Record = dict[str, Any]


@dataclass
class Scene:
    """All that is needed to write one visit down."""

    job: Job
    condition: Condition
    notebook: Notebook
    rng: Random
    who: str
    reported: datetime | None
    tasks: list[Record] = field(default_factory=list)
    replacements: list[Record] = field(default_factory=list)
    observations: list[Record] = field(default_factory=list)


def normal_bath(scene: Scene) -> float:
    """A bath temperature [degF] as it should be."""
    return scene.rng.uniform(27.2, 30.9)


def note_task(scene: Scene, task: str, result: str = "done", **more: str) -> None:
    """Write a task's result down."""
    scene.tasks.append({"task": task, "result": result, **more})
