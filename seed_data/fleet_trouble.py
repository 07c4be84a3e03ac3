"""A service call and the look afterwards."""

from typing import Any

from fleet_calls import BURNT_SWITCH, STARVED_PUMP, Cause
from fleet_models import part_codes
from fleet_round import change, level, strength
from fleet_scene import Scene, normal_bath, note_task

Record = dict[str, Any]


def call(scene: Scene) -> Record:
    """A service call: the complaint, what was found, what was put right."""
    job, cause, notebook = scene.job, _cause(scene), scene.notebook
    _before(scene, cause)
    found = scene.rng.uniform(*cause.bath) if cause.bath else normal_bath(scene)
    notebook.bath(found)
    warm = cause.symptom == "foaming"
    notebook.beer(
        scene.rng.uniform(40, 44) if warm else max(scene.rng.uniform(36.5, 38.5), found + scene.rng.uniform(0, 4))
    )
    if cause.code == "cooler_warm":
        notebook.degrees("cooler_temperature", scene.rng.uniform(43, 47))
    _look_closer(scene, cause)
    if job.fits_part:
        _fit(scene, cause)
    _cause_tasks(scene, cause)
    if cause.bath and job.fits_part:
        notebook.bath(_pulled_down(scene, found), "as_left")
    scene.observations += [_observation(cause, code) for code in cause.observations]
    complaint = {"symptom": cause.symptom, "reported_at": scene.reported.isoformat() if scene.reported else None,
                 "words": scene.rng.choice(cause.words)}  # fmt: skip
    return {"complaint": complaint, "work": cause.work, "advice": cause.advice, "outcome": cause.outcome}


def _cause(scene: Scene) -> Cause:
    if scene.job.cause is None:
        raise ValueError(f"A {scene.job.kind} on {scene.job.day} has no cause.")
    return scene.job.cause


def _before(scene: Scene, cause: Cause) -> None:
    """Bring the unit into the state that the cause describes."""
    condition = scene.condition
    if cause.tasks.get("condenser_clean") == "blocked" or cause is BURNT_SWITCH:
        condition.clog()
    if cause is STARVED_PUMP:
        condition.strength, condition.level = scene.rng.uniform(19, 23.5), scene.rng.uniform(42, 58)
    if cause.code == "weak_glycol":
        condition.strength = scene.rng.uniform(13, 17)


def _look_closer(scene: Scene, cause: Cause) -> None:
    """What the trouble makes one measure."""
    notebook = scene.notebook
    if cause.symptom in ("warm_pour", "unit_dead"):
        # a dead unit can only be measured once it runs again
        when = "as_left" if cause.symptom == "unit_dead" else "as_found"
        condensing = notebook.air(when)
        if cause.code not in ("compressor_dead", "fan_seized", "cord_open"):
            notebook.head(condensing, when)
            notebook.amps("compressor-1", when, condensing=condensing)
    if cause.part == "power_switch":
        notebook.supply()
        notebook.contact("switch-1", scorched=True, live=cause.symptom != "unit_dead")
    if cause.code == "low_charge":
        notebook.cold_side(starved=True)


def _fit(scene: Scene, cause: Cause) -> None:
    """Replace what failed, and its neighbour as a precaution."""
    if cause.part is None:
        return
    codes = part_codes(scene.job.unit.model, cause.part)
    _replace(scene, codes[0], cause.reason, cause.condition)
    if cause.neighbour is not None:
        _replace(scene, codes[1], "precaution", cause.neighbour if scene.rng.random() < 0.6 else "good")
    if cause.part == "power_switch":
        scene.notebook.contact(codes[0], "as_left")
    elif cause.part in ("pump", "pump_motor"):
        scene.notebook.pump("as_left")
    elif cause.part == "condenser_fan":
        scene.notebook.amps(codes[0], "as_left")


def _replace(scene: Scene, component: str, reason: str, condition: str) -> None:
    scene.replacements.append({"component": component, "reason": reason, "condition": condition, "evidence": "seen"})


def _cause_tasks(scene: Scene, cause: Cause) -> None:
    """The tasks that the trouble made necessary, with what they found."""
    condition = scene.condition
    for task, word in cause.tasks.items():
        if task == "glycol_strength_check":
            strength(scene)
        elif task == "glycol_change":
            scene.notebook.glycol()
            change(scene)
        elif task == "bath_level_check":
            level(scene)
        else:
            note_task(scene, task, **({"as_found": word} if word else {}))
    if cause.tasks.get("condenser_clean"):
        condition.grades.note("blocked")
        condition.cleaned()
    if cause.tasks.get("strainer_clean"):
        condition.strainer.note("heavy")


def _observation(cause: Cause, code: str) -> Record:
    return {"code": code, "note": cause.note} if code == "other" else {"code": code}


def _pulled_down(scene: Scene, found: float) -> float:
    """The bath when we left: on its way, not there yet; from ice it comes up."""
    if found < 27:
        return scene.rng.uniform(27.5, 29.5)
    return max(found - scene.rng.uniform(9, 15), 32.5)


def follow_up(scene: Scene) -> Record:
    """The look afterwards; a part that had to be fetched is fitted now."""
    cause, notebook = _cause(scene), scene.notebook
    work = "Held overnight, taps cold."
    if scene.job.fits_part:
        notebook.bath(scene.rng.uniform(52, 66))
        _fit(scene, cause)
        notebook.bath(scene.rng.uniform(31, 36), "as_left")
        notebook.beer(scene.rng.uniform(38.5, 40), "as_left")
        work = "Part came in and was fitted; watched it pull down."
    else:
        notebook.bath(normal_bath(scene))
        notebook.beer(scene.rng.uniform(36.3, 38.9))
        notebook.amps("compressor-1")
    note_task(scene, "follow_up")
    return {"work": work, "outcome": "running"}
