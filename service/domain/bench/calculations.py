"""All calculations of the bench, in the order in which they are listed."""

from service.domain.bench import electricity, glycol, heat_gain, lines, load, loop, pour, pull_down, refrigeration

CALCULATIONS = (
    *glycol.CALCULATIONS,
    lines.CALCULATION,
    pour.CALCULATION,
    heat_gain.CALCULATION,
    pull_down.CALCULATION,
    *refrigeration.CALCULATIONS,
    electricity.CALCULATION,
    loop.CALCULATION,
    load.CALCULATION,
)
