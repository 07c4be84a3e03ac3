"""Beer line calculations: volume, pressure loss, and whether to purge warm beer or wait."""

from dataclasses import dataclass, field
from math import inf, isinf

from service.domain.bench.fields import Calculation, Outcome, amount, choice, count, described, flag, measured, text
from service.domain.bench.figures import figure, figure_if
from service.domain.physics.lines.draught import Section, gravity_pressure, line_restriction, line_volume
from service.domain.physics.lines.purge import Choice, Purge, purge, purge_or_wait
from service.domain.physics.lines.tubing import NoSuchTubing, Tubing, tubing_row
from service.domain.quantities import Quantity

BORE = ("length", "0.125 in", "2 in")
LENGTH = ("length", "0 m", "500 m")
BEER = ("volume", "0.1 L", "200 L")
ADVICE = {
    "cheaper": {
        "purge": "Purge the warm beer: that costs less than waiting.",
        "wait": "Wait for the glycol: that costs no more than purging.",
    },
    "lines_are_cold": {"neither": "Nothing to do: the lines are cold."},
    "glycol_never_cools_it": {
        "purge": "Purge the warm beer: waiting does not cool it.",
        "neither": "Neither helps: the glycol does not cool the lines, so the next beer warms up too. Find the fault.",
    },
    "pours_warm_again": {"wait": "Wait: the beer behind it would warm up on its way."},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BeerLine:
    """One line from keg to tap."""

    tap: str | None = field(default=None, metadata=text("name of the tap"))
    tubing: str = field(metadata=choice("kind of tubing", tuple(Tubing), default="barrier"))
    bore: Quantity = field(metadata=measured("inner diameter; for stainless steel the outer diameter", BORE))
    length: Quantity = field(metadata=measured("length from keg to faucet", LENGTH))
    rise: Quantity | None = field(
        default=None,
        metadata=measured("height of the faucet above the middle of the keg", ("length", "-100 m", "100 m")),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """Warm lines, the cost of their beer and the cost of waiting."""

    lines: tuple[BeerLine, ...] = field(metadata=count("the lines to be cleared", 1, 200))
    pitcher: Quantity = field(metadata=measured("volume of a pitcher", ("volume", "0.1 L", "10 L"), default="60 floz"))
    glass: Quantity = field(metadata=measured("volume of a glass", ("volume", "0.01 L", "10 L"), default="16 floz"))
    pour_rate: Quantity = field(
        metadata=measured("flow at the faucet", ("volume_flow", "0.06 L/min", "60 L/min"), default="0.9375 gal/min")
    )
    keg_price: float | None = field(default=None, metadata=amount("what the customer pays for a keg", 0, 1e6))
    keg_volume: Quantity = field(metadata=measured("volume of that keg", BEER, default="15.5 gal"))
    sales_per_hour: float | None = field(
        default=None, metadata=amount("draught beer sales in an hour, 0 while closed", 0, 1e6)
    )
    wait: Quantity | None = field(
        default=None, metadata=measured("time until the glycol has cooled the lines", ("time", "0 s", "7 d"))
    )
    cools: bool = field(metadata=flag("whether the glycol cools the lines", default=True))
    stays_cold: bool = field(metadata=flag("whether fresh beer from the keg arrives cold", default=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearedLine:
    """Volume and pressure of one line."""

    tap: str | None = field(metadata=described("name of the tap"))
    volume: Quantity = field(metadata=described("volume of the line, from its geometry"))
    pitchers: float = field(metadata=described("pitchers to purge"))
    restriction: Quantity | None = field(
        metadata=described("pressure loss including the rise; null if the size is not in the table")
    )
    gravity: Quantity = field(metadata=described("the part of the pressure loss due to the rise"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Cleared:
    """All lines, and what to do."""

    lines: tuple[ClearedLine, ...] = field(metadata=described("each line"))
    volume: Quantity = field(metadata=described("volume to purge"))
    pitchers: float = field(metadata=described("pitchers to purge"))
    glasses: float = field(metadata=described("the same in glasses"))
    time: Quantity = field(metadata=described("time for one person, one tap after another"))
    action: str | None = field(metadata=described("purge, wait or neither; null if price, sales or wait is missing"))
    reason: str | None = field(metadata=described("reason for the action"))
    advice: str | None = field(metadata=described("the action as a sentence"))
    purge_cost: float | None = field(metadata=described("cost of beer and lost sales, in the currency given"))
    wait_cost: float | None = field(metadata=described("cost of lost sales, in the currency given"))


def clear(inputs: Lines) -> Outcome:
    """How much to purge, and purging against waiting."""
    volumes = [line_volume(bore=line.bore.value, length=line.length.value) for line in inputs.lines]
    made = {"pitcher": inputs.pitcher.value, "glass": inputs.glass.value, "flow": inputs.pour_rate.value}
    cleared = purge(volumes, **made)
    choice = _choice(inputs, cleared)
    lines = [_line(line, volume, inputs.pitcher.value) for line, volume in zip(inputs.lines, volumes, strict=True)]
    return Outcome(
        results=Cleared(
            lines=tuple(lines),
            volume=figure(cleared.volume, "volume"),
            pitchers=round(cleared.pitchers, 2),
            glasses=round(cleared.glasses, 1),
            time=figure(cleared.seconds, "time"),
            action=None if choice is None else str(choice.action),
            reason=None if choice is None else str(choice.reason),
            advice=None if choice is None else ADVICE[choice.reason][choice.action],
            purge_cost=None if choice is None else round(choice.purge_cost, 2),
            wait_cost=None if choice is None or isinf(choice.wait_cost) else round(choice.wait_cost, 2),
        ),
        notes=tuple(_notes(lines, choice)),
    )


def _line(line: BeerLine, volume: float, pitcher: float) -> ClearedLine:
    rise = 0.0 if line.rise is None else line.rise.value
    try:
        section = Section(tubing_row(Tubing(line.tubing), line.bore.value), line.length.value)
        restriction = line_restriction([section], rise)
    except NoSuchTubing:
        restriction = None
    return ClearedLine(
        tap=line.tap,
        volume=figure(volume, "volume"),
        pitchers=round(volume / pitcher, 2),
        restriction=figure_if(restriction, "pressure"),
        gravity=figure(gravity_pressure(rise), "pressure"),
    )


def _choice(inputs: Lines, cleared: Purge) -> Choice | None:
    wait = inputs.wait.value if inputs.wait is not None else None
    wait = wait if inputs.cools else inf
    if inputs.keg_price is None or inputs.sales_per_hour is None or wait is None:
        return None
    return purge_or_wait(
        cleared,
        beer_price=inputs.keg_price / inputs.keg_volume.value,
        wait=wait,
        sales=inputs.sales_per_hour / 3600.0,
        stays_cold=inputs.stays_cold,
    )


def _notes(lines: list[ClearedLine], choice: Choice | None) -> list[str]:
    notes = ["A line is clear once its volume has been poured, within a few per cent; foam takes longer."]
    if choice is None:
        notes.append("Give keg_price, sales_per_hour and wait to learn whether to purge or to wait.")
    if any(line.restriction is None for line in lines):
        notes.append("The pressure loss is left out for tubing and sizes that are not in the published table.")
    return notes


CALCULATION = Calculation(
    name="line-purge",
    title="Purge warm beer lines",
    what_for="Beer to purge at each tap and in total, its cost against waiting, and the pressure loss of each line.",
    inputs=Lines,
    results=Cleared,
    compute=clear,
    method="Plug flow: the volume of the line, pi b^2 L / 4; pressure by the published loss per foot plus rho g h.",
    source=(
        "Draught Beer Tubing Specifications, reference sheet of a beer-server certification course, 2021; "
        "pitcher of 60 fl oz and the choice by cost: common practice, no source"
    ),
    cautions=(
        "Kegs under pressure and CO2 in a closed cooler are dangerous: ventilate, and shut off the gas before opening.",
    ),
    example={
        "lines": [{"tap": "1", "tubing": "vinyl", "bore": "0.25 in", "length": "20 ft"}],
        "keg_price": 120,
        "sales_per_hour": 60,
        "wait": "45 min",
    },
)
