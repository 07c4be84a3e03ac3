"""A round of maintenance at one unit."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from fleet_models import part_codes
from fleet_pen import quantity
from fleet_scene import Scene, normal_bath, note_task

Record = dict[str, Any]

_WORK = {
    "condenser_clean": ("brushed and vacuumed the condenser", "blew out the condenser"),
    "condenser_deep_clean": ("washed the condenser with coil cleaner, covers off",),
    "glycol_strength_check": ("glycol checked", "tested the glycol"),
    "glycol_change": ("drained the bath and filled it with fresh mixed glycol",),
    "bath_level_check": ("bath level looked at",),
    "pump_check": ("pump quiet and cold to the touch", "pump current and coupling in order"),
    "strainer_clean": ("rinsed the strainer",),
    "electrical_check": ("locked out, verified dead, lugs tightened; loads measured afterwards",),
    "trunk_check": ("felt along the trunk as far as it can be reached",),
    "controller_check": ("controller compared with an ice bath",),
    "follow_up": ("came back to see whether it held",),
}
_LOOSE_ENDS = (
    ("bath_cap_missing",), ("cover_panel_missing", "fasteners_missing"), ("airflow_obstructed",), ("area_littered",),
    ("insulation_damaged",), ("oil_stain",),
)  # fmt: skip


def _condenser(scene: Scene, condensing: float) -> None:
    """Clean the condenser unless nobody could get at it; the warm side is read before and after."""
    condition, job = scene.condition, scene.job
    if "condenser_clean" in job.skipped:
        note_task(scene, "condenser_clean", "not_done", reason=job.skipped["condenser_clean"])
        return
    word = condition.grades.note(condition.found())
    note_task(scene, "condenser_clean", as_found=word)
    deep = "condenser_deep_clean" in job.tasks
    condition.cleaned(thorough=deep)
    if deep:
        needed = word != "clean" or condition.surroundings == "greasy"
        note_task(scene, "condenser_deep_clean", "done" if needed else "not_needed")
    if word in ("heavy", "blocked") or deep:
        scene.notebook.head(condensing - scene.rng.uniform(0, 1) - _shed(word), "as_left")


def _shed(word: str) -> float:
    """How far the condensing temperature falls when so much dirt goes [deltaF]."""
    return {"clean": 1.0, "light": 5.0, "heavy": 11.0, "blocked": 18.0}[word]


def level(scene: Scene) -> None:
    """Look at the bath level and fill up a low bath."""
    scene.notebook.level()
    note_task(scene, "bath_level_check")
    if scene.condition.level < 84:
        scene.condition.topped_up()
        scene.notebook.level("as_left")


def strength(scene: Scene) -> None:
    """Test the glycol and set it right when it is weak."""
    scene.notebook.glycol()
    note_task(scene, "glycol_strength_check")
    if scene.condition.strength < 32.5:
        scene.condition.corrected()
        scene.notebook.glycol("as_left")


def change(scene: Scene) -> None:
    """Fill the bath afresh."""
    scene.notebook.note("glycol_ph", quantity(scene.condition.acidity, "pH"), "as_found")
    scene.condition.corrected(fresh=True)
    scene.condition.level = scene.rng.uniform(94, 98)
    scene.notebook.note("glycol_ph", quantity(scene.condition.acidity, "pH"), "as_left")
    scene.notebook.glycol("as_left")
    note_task(scene, "glycol_change")


def _strainer(scene: Scene) -> None:
    strainer = scene.condition.strainer
    note_task(scene, "strainer_clean", as_found=strainer.note(strainer.next_of_strainer(scene.rng)))


def _electrical(scene: Scene) -> None:
    scene.notebook.supply()
    for kind in ("power_switch", "contactor"):
        for code in part_codes(scene.job.unit.model, kind):
            scene.notebook.contact(code)
    scene.notebook.cold_side()
    note_task(scene, "electrical_check")


def _pump(scene: Scene) -> None:
    scene.notebook.pump()
    note_task(scene, "pump_check")


_STEPS: dict[str, Callable[[Scene], None]] = {
    "glycol_strength_check": strength,
    "glycol_change": change,
    "strainer_clean": _strainer,
    "electrical_check": _electrical,
    "pump_check": _pump,
}


def _other_tasks(scene: Scene) -> None:
    """All of a round but condenser and level; some tasks leave nothing but their result."""
    skipped = scene.job.skipped
    for task in scene.job.tasks:
        if task in ("condenser_clean", "condenser_deep_clean", "bath_level_check"):
            continue
        if task in skipped:
            note_task(scene, task, "not_done", reason=skipped[task])
        elif task in _STEPS:
            _STEPS[task](scene)
        else:
            note_task(scene, task)


def maintenance(scene: Scene) -> Record:
    """A round: much is read, little is wrong."""
    notebook, bath = scene.notebook, normal_bath(scene)
    notebook.bath(bath)
    notebook.beer(scene.rng.uniform(36.1, 38.8))
    if len(scene.job.unit.taps) > 3:
        notebook.beer(scene.rng.uniform(36.4, 39.0), tap=scene.job.unit.taps[-1])
    condensing = notebook.air()
    notebook.head(condensing)
    notebook.amps("compressor-1", condensing=condensing)
    notebook.amps("fan-1")
    _condenser(scene, condensing)
    level(scene)
    if "pump_check" in scene.job.tasks:
        notebook.loop(bath)
    _other_tasks(scene)
    if scene.rng.random() < 0.07:
        scene.observations += [{"code": code} for code in scene.rng.choice(_LOOSE_ENDS)]
    _reported(scene)
    return {"work": _phrase(scene), "advice": _advice(scene), "outcome": "running"}


def _reported(scene: Scene) -> None:
    """Something that was replaced between our visits, as it was reported to us."""
    job = scene.job
    if job.part is not None and job.reported_by is not None:
        on = (job.day - timedelta(days=9)).isoformat()
        reason, condition = ("unknown", "unknown") if job.reported_by == "others" else ("precaution", "worn")
        scene.replacements.append({"component": job.part, "reason": reason, "condition": condition,
                                   "evidence": "reported", "on": on, "by": job.reported_by})  # fmt: skip


def _phrase(scene: Scene) -> str:
    done = [task["task"] for task in scene.tasks if task["result"] == "done"]
    text = "; ".join(scene.rng.choice(_WORK[task]) for task in done)
    return f"{text[:1].upper()}{text[1:]}."


def _advice(scene: Scene) -> str:
    words = [task.get("as_found") for task in scene.tasks]
    if "heavy" in words or "blocked" in words:
        return "Keep flour, grease and boxes away from the air side."
    if any(task["result"] == "not_done" for task in scene.tasks):
        return "Please give us access next time."
    if scene.observations:
        return "Small things seen that want tidying; see the list."
    return ""
