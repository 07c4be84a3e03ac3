"""Explanations in bath, loop, trunk, cooler and kegs: priors as in `of_refrigeration`, common practice, no source."""

from collections.abc import Mapping

from service.domain.maintenance.catalogue import DRY_PUMP, FOOD_GRADE, LICENSED, LOCKOUT, SLIPPERY
from service.domain.triage.explanation import RUNNING, Explanation, Node, either, nodes, rests, runs

GLYCOL = (FOOD_GRADE, SLIPPERY)
PUMP = (LOCKOUT, DRY_PUMP, LICENSED)
OVERLOADED = ((0.5, RUNNING, 0.7, 1.3), (0.35, RUNNING, 3.5, 2.0), (0.15, RUNNING, 8.0, 4.0))
STILL = {"loop_flow": 0.0, "run_gain": 0.75, "load": 0.35}  # no glycol moves


def overloaded(weight: float, spread: Mapping[str, float] | None = None, /, **effects: float) -> tuple[Node, ...]:
    """More heat than usual: the unit holds its bath, falls behind by a few kelvin, or by more."""
    return nodes(weight, OVERLOADED, spread, **effects)


LOOP = (
    Explanation(
        code="cooler_warm",
        family="beer",
        sentence="The cooler with the kegs is too warm.",
        prior=0.05,
        nodes=(
            *rests(0.2, {"cooler": 1.5}, cooler=4.5, load=1.3),
            *overloaded(0.3, {"cooler": 1.5}, cooler=4.5, load=1.4),
            *rests(0.15, {"cooler": 3.0}, cooler=9.0, load=1.5),
            *overloaded(0.35, {"cooler": 3.0}, cooler=9.0, load=1.7),
        ),
        test="Measure the cooler's air and a keg's beer; every glass is warm, not only the first.",
        tested_by=("cooler_temperature", "keg_temperature"),
        remedy="Have the cooler serviced. Food in it must be checked too.",
    ),
    Explanation(
        code="keg_not_cold",
        family="beer",
        sentence="The keg has not been in the cooler long enough.",
        prior=0.05,
        nodes=(
            *rests(0.10, {"keg": 3.0}, keg=7.0, load=1.2),
            *overloaded(0.20, {"keg": 3.0}, keg=7.0, load=1.4),
            *rests(0.075, {"keg": 2.0}, keg_alone=5.5),
            *runs(0.10, 0.1, {"keg": 2.0}, keg_alone=5.5, load=1.1),
            *rests(0.075, {"keg": 3.5}, keg_alone=11.0),
            *runs(0.10, 0.1, {"keg": 3.5}, keg_alone=11.0, load=1.2),
            *rests(0.15, unread=1.0),
            *runs(0.20, 0.1, unread=1.0, load=1.15),
        ),
        test="Measure the beer in the keg, and ask when it was delivered: it needs a day.",
        remedy="Change to a cold keg; store full kegs in the cooler for a day before they are tapped.",
    ),
    Explanation(
        code="one_tap_only",
        sentence="One tap alone is warm: its keg, line or faucet, not the unit.",
        prior=0.04,
        nodes=(*either(0.5, 0.05, {"tap_warm": 4.0}, tap=7.0), *either(0.5, 0.05, unread=1.0)),
        test="Pour from its neighbours; then swap its keg with that of a cold tap.",
        remedy="Service that line and faucet.",
    ),
    Explanation(
        code="lines_just_cleaned",
        family="beer",
        sentence="The lines were just cleaned: what stood in them is not cold yet.",
        prior=0.008,
        nodes=either(1.0, 0.1, {"tap_warm": 5.0, "tap_cold": 5.0}, line=9.0),
        test="Pour two or three glasses from one tap and measure the last: it is cold.",
        remedy="Nothing to repair: pour off what stood in the lines, and let the glycol run while they stand.",
    ),
    Explanation(
        code="pump_stopped",
        sentence="The pump does not move glycol: no supply, a seized motor or a broken coupling.",
        prior=0.06,
        nodes=(
            *rests(0.50, pump=0.0, **STILL),
            *runs(0.10, 0.05, pump=0.0, transfer=0.5, **STILL),
            *rests(0.20, {"pump": 0.6}, pump=0.85, **STILL),
            *rests(0.20, {"pump": 0.25}, pump=4.5, **STILL),
        ),
        test="Listen to the pump and look at the stream of the return; then read its current.",
        tested_by=("pump",),
        remedy="Restore its supply, coupling or motor; see that the bath covers the suction before it starts.",
        cautions=PUMP,
        symptoms={"noisy": 2.0},
    ),
    Explanation(
        code="pump_weak_or_strainer_blocked",
        sentence="The loop gets too little flow: a worn pump or a blocked strainer.",
        prior=0.06,
        nodes=(
            *either(0.5, 0.1, {"pump": 0.15}, loop_flow=0.55, run_gain=0.2),
            *rests(0.25, {"pump": 0.2}, loop_flow=0.3, run_gain=0.35),
            *runs(0.25, 0.1, {"pump": 0.2}, loop_flow=0.3, run_gain=0.35, transfer=0.85),
        ),
        test="Measure supply and return with one probe; then look at the strainer, with the pump isolated.",
        tested_by=("glycol_supply_temperature", "glycol_return_temperature"),
        remedy="Clean the strainer and read the rise again; replace the pump only if it stays high.",
        cautions=PUMP,
        symptoms={"noisy": 5.0},
    ),
    Explanation(
        code="air_in_loop",
        sentence="The pump draws air.",
        prior=0.02,
        nodes=either(1.0, 0.15, {"pump": 0.25, "rise": 1.5}, loop_flow=0.6, run_gain=0.25),
        test="Look at the return: it surges and foams.",
        remedy="Fill the bath to its level, seal the suction side, bleed the loop.",
        cautions=(*PUMP, *GLYCOL),
        symptoms={"leaking": 3.0, "noisy": 6.0},
        links={"bath_low": 8.0},
    ),
    Explanation(
        code="bath_low",
        sentence="The bath has lost glycol.",
        prior=0.04,
        nodes=(
            *rests(0.2, {"level": 0.08}, level=0.65),
            *runs(0.3, 0.2, {"level": 0.08}, level=0.65, transfer=0.9),
            *runs(0.5, 0.5, {"level": 0.10}, level=0.45, transfer=0.6, loop_flow=0.65, run_gain=0.25),
        ),
        test="Look at the level, and for wet places along the loop.",
        tested_by=("bath_level",),
        remedy="Stop the leak, then fill with ready mixed glycol of the target strength.",
        cautions=(*GLYCOL, DRY_PUMP),
        symptoms={"leaking": 20.0, "noisy": 3.0},
    ),
    Explanation(
        code="glycol_too_strong",
        sentence="The glycol is too strong: it is thick, and carries and takes up heat badly.",
        prior=0.02,
        nodes=(
            *either(0.6, 0.1, {"strength": 0.03}, strength=0.10, loop_flow=0.85, pump=1.12, transfer=0.92),
            *runs(0.4, 0.2, {"strength": 0.04}, strength=0.18, loop_flow=0.65, pump=1.25, transfer=0.8, run_gain=0.15),
        ),
        test="Measure the glycol's strength with the sample at room temperature.",
        tested_by=("glycol_strength",),
        remedy="Dilute to the target strength, never below what the coldest surface needs.",
        cautions=GLYCOL,
    ),
    Explanation(
        code="trunk_short_of_flow",
        sentence="One trunk gets too little glycol.",
        prior=0.015,
        nodes=(
            *either(0.5, 0.1, {"tap_warm": 2.5}, short_gain=0.35, loop_flow=0.9),
            *either(0.5, 0.1, unread=1.0, loop_flow=0.9),
        ),
        test="Compare the return of each trunk with one probe.",
        remedy="Open or balance its valve, and look for a kink, a freeze or a blockage in it.",
        cautions=GLYCOL,
    ),
    Explanation(
        code="insulation_wet",
        sentence="The trunk's insulation is wet or missing.",
        prior=0.015,
        nodes=(
            *rests(0.25, load=1.6, run_gain=0.2),
            *overloaded(0.40, load=1.8, run_gain=0.25),
            *overloaded(0.35, load=2.8, run_gain=0.35),
        ),
        test="Follow the run by hand and eye for wet, iced or bare places; the rise is high at a usual flow.",
        remedy="Replace the wet length and restore the vapour seal.",
        cautions=(SLIPPERY, LICENSED),
        symptoms={"leaking": 3.0},
    ),
)
