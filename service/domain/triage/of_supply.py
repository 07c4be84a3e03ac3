"""Explanations in supply, controls and the demand: priors as in `of_refrigeration`, common practice, no source."""

from service.domain.maintenance.catalogue import LICENSED, LOCKOUT
from service.domain.triage.explanation import RESTING, RUNNING, Explanation, Node, dead, nodes, rests, stopped

ELECTRICAL = (LOCKOUT, LICENSED)


def off_target(weight: float, kelvin: float, setting: str, spread: float = 0.9) -> tuple[Node, ...]:
    """A set point or thermometer that is off, by this with this spread, while the unit holds what it is set to."""
    shown = "set_point" if setting == "set_point" else "display"
    places = ((0.5, RESTING, 0.3, 1.3), (0.5, RUNNING, 0.7, 1.5))
    return nodes(weight, places, {shown: spread}, **{setting: kelvin})


SUPPLY = (
    Explanation(
        code="no_power",
        family="stopped",
        sentence="The unit has no power: breaker, cord or switch.",
        prior=0.11,
        nodes=(
            *dead(0.45, before=0.0, behind=0.0, at_controller=0.0),
            *dead(0.55, behind=0.0, at_controller=0.0),
        ),
        test="Follow the voltage from the outlet to the switch and from the switch to the controller.",
        remedy="Repair the place where the voltage stops. A switch that burnt has a reason: read currents, joints and "
        "rating before a new one goes in.",
        cautions=ELECTRICAL,
        symptoms={"unit_dead": 15.0, "noisy": 0.2, "frozen": 0.2, "leaking": 0.3},
    ),
    Explanation(
        code="controller_dark_or_not_calling",
        family="stopped",
        sentence="The unit has power, and its controller is dark or does not call for cooling.",
        prior=0.06,
        nodes=(
            *stopped(0.45, fan=0.0),
            *stopped(0.35, fan=0.0, pump=0.0, loop_flow=0.0, run_gain=0.7),
            *stopped(0.20),
        ),
        test="Read the display and its calling light; then the voltage at the controller and at what it switches.",
        remedy="Check the controller's supply, sensor and relay before replacing it.",
        cautions=ELECTRICAL,
        symptoms={"unit_dead": 8.0, "noisy": 0.3, "frozen": 0.3, "leaking": 0.3},
    ),
    Explanation(
        code="set_point_wrong",
        family="temperature",
        sentence="The controller is set to another temperature than wanted.",
        prior=0.03,
        nodes=(
            *off_target(0.22, 2.0, "set_point"),
            *off_target(0.30, 4.0, "set_point"),
            *off_target(0.13, 7.0, "set_point"),
            *off_target(0.07, 13.0, "set_point", 4.0),  # of a refrigerator, or reset to what it left the works with
            *off_target(0.19, -2.2, "set_point"),
            *off_target(0.09, -4.5, "set_point"),
        ),
        test="Read the set point and compare it with what is recorded as wanted.",
        tested_by=("controller_set_point",),
        remedy="Set it back, and record who wanted it changed.",
        symptoms={"frozen": 5.0, "no_flow": 2.0},
    ),
    Explanation(
        code="thermometer_wrong",
        family="temperature",
        sentence="The controller's sensor, or the thermometer, is wrong.",
        prior=0.02,
        nodes=(
            *off_target(0.18, -2.5, "sensor"),
            *off_target(0.19, -5.0, "sensor"),
            *off_target(0.18, 3.0, "sensor"),
            Node(0.05, RUNNING, 7.0, 4.0, {"sensor": 12.0}, {"display": 6.0}),  # it hangs out of the bath
            *off_target(0.10, -2.5, "probe"),
            *off_target(0.10, -5.0, "probe"),
            *off_target(0.10, 2.5, "probe"),
            *off_target(0.10, 5.0, "probe"),
        ),
        test="Put sensor and thermometer together in stirred ice water: both must show 0 °C (32 °F).",
        remedy="Correct the controller's offset or replace the sensor; then judge the bath anew.",
        symptoms={"frozen": 4.0},
    ),
    Explanation(
        code="compressor_does_not_stop",
        family="temperature",
        sentence="The compressor does not stop at its set point: a contact is stuck.",
        prior=0.01,
        nodes=(Node(0.6, RUNNING, -4.0, 2.0), Node(0.4, RUNNING, -8.0, 3.0)),
        test="See whether the compressor runs on while the display stands below the set point and does not call.",
        remedy="Switch the unit off before bath and beer freeze. Replace the contactor or the controller.",
        cautions=ELECTRICAL,
        symptoms={"frozen": 20.0, "no_flow": 8.0, "warm_pour": 0.3},
    ),
    Explanation(
        code="capacity_short",
        family="demand",
        sentence="The unit is sound and too small for this day's heat.",
        prior=0.02,
        nodes=(
            Node(0.4, RUNNING, 0.7, 1.3, {"load": 1.7, "room": 11.0}),
            Node(0.35, RUNNING, 3.5, 2.0, {"load": 1.9, "room": 11.0}),
            Node(0.25, RUNNING, 7.0, 3.0, {"load": 2.3, "room": 11.0}),
        ),
        test="Time the bath with the taps closed, and set the day's load against the capacity in this air.",
        remedy="Nothing to repair: shade or cooler air for the condenser, less heat into the run, or a larger unit.",
    ),
    Explanation(
        code="pouring_too_much",
        family="demand",
        sentence="More beer is being poured than the unit carries.",
        prior=0.02,
        nodes=(
            Node(0.3, RUNNING, 0.7, 1.3, {"load": 1.8}),
            Node(0.4, RUNNING, 3.5, 2.0, {"load": 2.2}),
            Node(0.3, RUNNING, 7.0, 3.0, {"load": 3.0}),
        ),
        test="Read the bath again ten minutes after the rush, taps closed.",
        remedy="Nothing to repair: colder kegs, or more capacity if this is usual.",
    ),
    Explanation(
        code="still_recovering",
        family="demand",
        sentence="The unit works and is still pulling down.",
        prior=0.02,
        nodes=(
            Node(0.5, RUNNING, 6.0, 3.0),
            Node(0.5, RUNNING, 16.0, 7.0),
        ),
        test="Read the bath again after 10 to 15 minutes.",
        remedy="Leave it running, and see the next day that it holds.",
    ),
    Explanation(
        code="nothing_wrong",
        sentence="The unit is in order.",
        prior=0.03,
        nodes=(*rests(0.45), Node(0.55, RUNNING, 0.8, 1.3)),
        test="See that the bath is near its set point, each motor below its nameplate current and the last glass cold.",
        remedy="Nothing. Foam from cold beer: gas, coupler, line and faucet.",
        symptoms={"foaming": 8.0, "no_flow": 6.0},
    ),
)
