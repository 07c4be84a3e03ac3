"""Explanations in the refrigeration circuit.

Priors are shares of calls for warm beer, common practice, no source, close to what is printed for similar plant:
electrical faults lead, the charge comes before restrictions, compressors are named more often than they fail (about
30 % of those returned under warranty show no defect). Severities run from what a laboratory just detects (20 % of the
charge or of the air, 30 % of an evaporator or a liquid line) to what stops the cooling.
"""

from service.domain.maintenance.catalogue import CAPACITORS, FAN, FINS, HOT, LICENSED, LOCKOUT, REFRIGERANT
from service.domain.triage.explanation import RUNNING, Explanation, Node, nodes, rests, runs, stopped

CIRCUIT = (REFRIGERANT, LICENSED)
CONDENSER = (LOCKOUT, FAN, FINS, LICENSED)

COMPRESSED_TWICE = {"discharge_line": 12.0}  # [K] gas that leaks back heats it, liquid that floods back cools it
STILL_AIR = {"air_out": 12.0}  # [K] where hardly any air moves, a thermometer shows what is beside it


def iced(weight: float, strength_spread: float, **effects: float) -> tuple[Node, ...]:
    """An iced evaporator while the compressor runs: the bath stays near freezing, or ice would not."""
    places = ((0.5, RUNNING, 0.5, 1.3), (0.5, RUNNING, 4.0, 2.5))
    return nodes(weight, places, {"strength": strength_spread}, **effects)


REFRIGERATION = (
    Explanation(
        code="condenser_fouled",
        sentence="The condenser is fouled or its air is blocked: too little air carries the heat away.",
        prior=0.11,
        nodes=(
            *rests(0.12, air_flow=0.6),
            *runs(0.22, 0.15, air_flow=0.75),
            *runs(0.27, 0.3, air_flow=0.60),
            *runs(0.24, 0.6, air_flow=0.45),
            *runs(0.11, 0.8, air_flow=0.30),
            *stopped(0.04, air_flow=0.30, fan=0.5),
        ),
        test="Look at the whole face of the condenser with a torch; read the air entering and leaving it.",
        remedy="Clean the condenser and clear its air path, then read air and bath again before anything else.",
        cautions=CONDENSER,
        symptoms={"alarm": 1.5, "noisy": 1.2},
        # nobody notices a leak behind a condenser that nobody cleans, and the beer is warm only with both
        links={"compressor_not_starting": 4.0, "no_power": 2.0, "low_charge": 3.0},
    ),
    Explanation(
        code="condenser_fan_stopped",
        sentence="The condenser's fan does not turn, or too slowly.",
        prior=0.05,
        nodes=(
            *runs(0.35, 0.8, STILL_AIR, air_flow=0.10, fan=0.0),
            *runs(0.15, 0.8, STILL_AIR, air_flow=0.05, fan=0.0),
            *runs(0.05, 0.5, air_flow=0.40, fan=1.6),
            *runs(0.15, 0.8, STILL_AIR, air_flow=0.13, fan=1.6),
            *rests(0.10, air_flow=0.10, fan=0.0),
            *stopped(0.20, fan=0.0, air_flow=0.1),
        ),
        test="Look whether the fan turns while the compressor runs; then read its current.",
        tested_by=("fan",),
        remedy="Switch the compressor off. Find out why the fan stands: supply, capacitor, motor, blade.",
        cautions=(*CONDENSER, CAPACITORS),
        symptoms={"noisy": 4.0, "alarm": 2.0},
    ),
    Explanation(
        code="hot_air_recirculating",
        sentence="The condenser draws in its own warm air or that of other equipment.",
        prior=0.02,
        nodes=(*runs(0.4, 0.3, excess=5.0), *runs(0.35, 0.7, excess=10.0), *rests(0.25, excess=2.0)),
        test="Read the air at the condenser's inlet and that of the room two steps away.",
        remedy="Give the outgoing air a way out; move what stands before it.",
        cautions=CONDENSER,
    ),
    Explanation(
        code="low_charge",
        family="charge",
        sentence="The circuit has lost refrigerant.",
        prior=0.06,
        nodes=(
            *rests(0.08, charge=0.8),
            *runs(0.22, 0.2, charge=0.85),
            *runs(0.26, 0.5, charge=0.75),
            *runs(0.26, 0.8, charge=0.62),
            *runs(0.14, 0.95, charge=0.45),
            *runs(0.04, 0.95, charge=0.30),
        ),
        test="Compare the liquid line with the middle of the condenser; read the air's rise, then search for the leak.",
        remedy="Have the leak found and repaired, and the charge weighed in by the nameplate. Do not top up.",
        cautions=CIRCUIT,
        symptoms={"leaking": 1.5},
    ),
    Explanation(
        code="restriction",
        sentence="The capillary, drier or valve is partly blocked.",
        prior=0.02,
        nodes=(
            *rests(0.08, opening=0.7),
            *runs(0.3, 0.3, opening=0.70),
            *runs(0.34, 0.8, opening=0.52),
            *runs(0.28, 0.95, opening=0.32),
        ),
        test="Feel the drier, then the capillary or valve: a place colder than what is before it is the blockage.",
        remedy="Have the drier replaced, and the capillary or valve with it. Adding refrigerant does not help.",
        cautions=CIRCUIT,
        links={"overcharge": 6.0},
    ),
    Explanation(
        code="overcharge",
        family="charge",
        sentence="There is too much refrigerant in the circuit.",
        prior=0.012,
        nodes=(*rests(0.08, charge=1.25), *runs(0.45, 0.25, charge=1.25), *runs(0.47, 0.4, charge=1.45)),
        test="Compare the liquid line with the middle of the condenser: it is far below, with a usual air rise.",
        remedy="Have the charge recovered and weighed in by the nameplate.",
        cautions=CIRCUIT,
    ),
    Explanation(
        code="non_condensable_gas",
        sentence="Air or nitrogen is in the circuit.",
        prior=0.008,
        nodes=(
            *rests(0.1, gas=0.8e5),
            *runs(0.45, 0.25, gas=0.7e5),
            *runs(0.45, 0.4, gas=1.5e5),
        ),
        test="After a long rest, see whether both gauges stand above the saturation pressure of the coldest part.",
        remedy="Have the charge recovered, the circuit evacuated and charged anew.",
        cautions=CIRCUIT,
    ),
    Explanation(
        code="compressor_not_starting",
        family="stopped",
        sentence="The compressor is called for and does not start.",
        prior=0.06,
        nodes=(
            *stopped(0.32),
            *stopped(0.28, fan=0.0),
            *stopped(0.20, locked=5.3),
            *stopped(0.20, locked=5.3, fan=0.0),
        ),
        test="Listen at the compressor for a hum and a click every few minutes; then read its current and voltage.",
        remedy="Check start gear, overload and the voltage while it starts. A hot shell may need an hour to reset.",
        cautions=(LOCKOUT, CAPACITORS, HOT, LICENSED),
        symptoms={"unit_dead": 3.0, "noisy": 3.0},
    ),
    Explanation(
        code="compressor_weak",
        sentence="The compressor runs and pumps too little.",
        prior=0.015,
        nodes=(
            *runs(0.30, 0.5, COMPRESSED_TWICE, leak=0.25),
            *runs(0.32, 0.85, COMPRESSED_TWICE, leak=0.45),
            *runs(0.24, 0.95, COMPRESSED_TWICE, leak=0.75),
            *stopped(0.14, locked=0.6),  # it turns and pumps nothing: its current, equal pressures, no heat
        ),
        test="Time the bath's fall; then read both pressures: suction is high while discharge is low.",
        remedy="Rule out everything else first: most compressors that are returned show no defect.",
        cautions=CIRCUIT,
        symptoms={"noisy": 2.0},
    ),
    Explanation(
        code="evaporator_iced",
        sentence="The evaporator is iced, or too little glycol moves over it.",
        prior=0.05,
        nodes=(
            *iced(0.3, 0.04, transfer=0.55, strength=-0.12, loop_flow=0.75),
            *iced(0.4, 0.05, transfer=0.35, strength=-0.18, loop_flow=0.5),
            *iced(0.2, 0.04, transfer=0.30, strength=-0.03, loop_flow=0.6),
            *rests(0.1, {"strength": 0.05}, strength=-0.15, transfer=0.6, loop_flow=0.8),
        ),
        test="Look for ice on the coil and in the bath; measure the glycol's strength at room temperature.",
        remedy="Thaw with the unit off, then bring the glycol to its target strength. Find out why it is weak.",
        cautions=(LOCKOUT, LICENSED),
        symptoms={"frozen": 15.0, "no_flow": 2.0},
        links={"pump_weak_or_strainer_blocked": 2.0},
    ),
)
