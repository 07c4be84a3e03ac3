"""What drives the circuit, bath and air, under each hypothesis; and how uncertain record and moment leave it."""

import numpy as np

from service.domain.triage.channels import INDEX, MOVING
from service.domain.triage.facts import Facts
from service.domain.triage.fluid import Array
from service.domain.triage.forward import Surroundings
from service.domain.triage.hypotheses import Hypotheses
from service.domain.triage.likelihood import LOG_2PI
from service.domain.triage.measured import Measured
from service.domain.triage.variants import Spread

PROBE, AIR_PROBE = 0.7, 0.8  # [K] of a thermometer in the bath and in the air
USUAL_ROOM = (299.0, 6.0)  # [K]
AIR_OVER_ROOM = 1.8  # [K] spread of the air at the inlet about the room and the model's excess
SET_POINT, UNKNOWN_SET_POINT = 0.3, 1.3  # [K]
WRONG_DRIVER = 0.006 / 60.0  # density of a wrong thermometer
WITHOUT_RATING = 0.45  # relative, of a current
PASSING = 0.3  # of supply less keg: a trunk keeps beer cold, and cools a flowing glass by little; common practice
TRIPPED = 0.25  # of the way between rest and running: where an overload stops it, a circuit never settles
OTHER_TIME = 0.35  # of the swing of what is read minutes before or after the gauges
ROOM_SPREAD = 7.0  # [K]


def drivers(facts: Facts, measured: Measured, hypotheses: Hypotheses) -> tuple[Surroundings, Array]:
    """What is known of bath and air under each hypothesis, and the logarithm of the likelihood of what was read."""
    effects = hypotheses.effects
    probe = effects["probe"]
    bath = facts.set_point + effects["set_point"] - effects["sensor"] + hypotheses.bath
    bath_sd = np.hypot(hypotheses.bath_spread, SET_POINT if facts.knows("set_point") else UNKNOWN_SET_POINT)
    read = None if measured.bath is None else measured.bath - probe
    bath, bath_sd, log_bath = _updated(bath, bath_sd, read, PROBE)
    room, room_sd, log_room = USUAL_ROOM[0] + effects["room"], USUAL_ROOM[1], np.zeros_like(bath)
    if measured.room is not None:
        off = (measured.room - room) / ROOM_SPREAD
        log_room = np.logaddexp(-0.5 * (off**2 + LOG_2PI) - np.log(ROOM_SPREAD), np.log(WRONG_DRIVER))
        room, room_sd = np.full_like(bath, measured.room), AIR_PROBE
    over = np.hypot(room_sd, AIR_OVER_ROOM)
    air_in = None if measured.air_in is None else np.full_like(bath, measured.air_in)
    air, air_sd, log_air = _updated(room + effects["excess"], np.full_like(bath, over), air_in, AIR_PROBE)
    if measured.room is None and measured.air_in is not None:
        room = measured.air_in - effects["excess"]
    return Surroundings(bath, bath_sd, air, air_sd, room), log_bath + log_air + log_room


def _updated(mean: Array, sd: Array, read: Array | None, scatter: float) -> tuple[Array, Array, Array]:
    """A normal variable after a reading, and the logarithm of that reading's density."""
    if read is None:
        return mean, sd, np.zeros_like(mean)
    variance = sd**2 + scatter**2
    density = np.logaddexp(-0.5 * ((read - mean) ** 2 / variance + np.log(variance) + LOG_2PI), np.log(WRONG_DRIVER))
    gain = sd**2 / variance
    return mean + gain * (read - mean), np.sqrt(sd**2 * (1.0 - gain)), density


def further_scatter(facts: Facts, measured: Measured, spread: Spread) -> dict[str, Array]:
    """Further standard deviations: what the record does not know, circuits that have not settled, readings apart."""
    rows, mean = spread.rows, spread.values.mean
    low, high = (4.0 * share * (1.0 - share) for share in (spread.low, spread.high))  # 0 when running and at rest
    rest_low, rest = ((1.0 - share) * (share < 0.5) for share in (spread.low, spread.high))
    still = np.where(rows.effects["loop_flow"] < 0.05, 1.0, 0.0)
    locked = np.where(rows.effects["locked"] > 0.0, 0.25, 0.0)
    unrated = {name: 0.0 if name in facts.rated else WITHOUT_RATING for name in ("compressor", "fan", "pump")}
    idle = np.where(rows.can_run, 0.0, 1.0)
    gauge = 0.0 if facts.knows("atmosphere") else 5e3
    head = 1.2e4 if facts.capillary else 8e4
    none = np.zeros_like(rest)
    # one glass may be that of another tap; how far beer takes the glycol's temperature differs from trunk to trunk
    alone = (
        0.0
        if "tap_cold" in measured.values
        else 0.7 * (rows.effects["tap"] + rows.effects["keg_alone"]) + 8.0 * rows.effects["short_gain"]
    )
    passing = PASSING * np.abs(mean[INDEX["supply"]] - mean[INDEX["keg"]])
    drift = np.abs(mean[INDEX["bath_rate"]]) * measured.apart * (1.0 - spread.cycling)
    found = {
        "bath_rate": _of_rate(facts, measured, spread),
        "compressor": (unrated["compressor"] + locked) * mean[INDEX["compressor"]],
        "fan": np.hypot(unrated["fan"] * mean[INDEX["fan"]], idle * 0.1 * facts.rated.get("fan", 0.9)),
        "pump": unrated["pump"] * mean[INDEX["pump"]],
        "suction": np.hypot(rest_low * 8e3 + low * 2.5e4, gauge),
        "discharge": np.hypot(rest * head + high * 9e4, gauge),
        "suction_line": rest_low * 5.0 + low * 4.0,
        "liquid_line": rest * 3.0 + high * 3.0,
        "discharge_line": rest * 14.0 + high * 8.0,
        "air_out": np.hypot(rest * 2.0 + high * 2.0, OTHER_TIME * spread.swing),
        "bend": rest * 3.0 + high * 3.0,
        "supply": np.hypot(still * 4.0, drift),
        "return": np.hypot(still * 5.0, drift),
        "display": drift,
        "tap_warm": np.hypot(still * 3.0, alone) + passing,
        "tap_cold": still * 3.0 + passing,
        "strength": none + (0.0 if facts.knows("strength") else 0.035),
        "set_point": none + (0.0 if facts.knows("set_point") else UNKNOWN_SET_POINT),
    }
    return found | {name: np.hypot(found.get(name, 0.0), more) for name, more in _on_its_way(spread).items()}


def _on_its_way(spread: Spread) -> dict[str, Array]:
    """Of both sides of a circuit that an overload stops."""
    moved, share = spread.values.moved_mean, TRIPPED * spread.trips
    return {name: share * np.abs(moved[INDEX[name]])[spread.source] for name in (*MOVING["low"], *MOVING["high"])}


def _of_rate(facts: Facts, measured: Measured, spread: Spread) -> Array:
    """Of the bath's rate: capacity, volume, thermometer, and where the unit cycles whether it ran meanwhile."""
    n = INDEX["bath_rate"]
    relative = 0.12 + (0.0 if facts.knows("cooling") else 0.4) + (0.0 if facts.knows("volume") else 0.3)
    comes_and_goes = np.maximum(spread.cycling, spread.trips)
    apart = np.abs(spread.values.moved_mean[n])[spread.source]
    thermometer = 0.45 / measured.rate_seconds
    own = (relative * np.abs(spread.values.mean[n])) ** 2
    return np.asarray(np.sqrt(own + thermometer**2 + (0.45 * apart * comes_and_goes) ** 2))
