"""Beer lines at the bench: what they hold, what they cost in pressure, and whether to run warm beer off or wait."""

from dataclasses import dataclass, field
from math import inf, isinf

from service.domain.bench.fields import Calculation, Outcome, amount, count, flag, measured, text, told, word
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
        "purge": "Run the warm beer off: that costs less than waiting.",
        "wait": "Wait for the glycol: that costs no more than running the beer off.",
    },
    "lines_are_cold": {"neither": "Nothing to do: there is nothing to clear or to wait for."},
    "glycol_never_cools_it": {
        "purge": "Run the warm beer off: waiting does not cool it.",
        "neither": "Neither helps: the glycol does not cool the lines and the next beer warms as well. Find the fault.",
    },
    "pours_warm_again": {"wait": "Wait: beer run off now is followed by beer that warms on its way."},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BeerLine:
    """One line from keg to tap."""

    tap: str | None = field(default=None, metadata=text("name of the tap"))
    tubing: str = field(metadata=word("kind of tubing", tuple(Tubing), usual="barrier"))
    bore: Quantity = field(metadata=measured("inner diameter; of stainless steel the outer one", BORE))
    length: Quantity = field(metadata=measured("from keg to faucet", LENGTH))
    rise: Quantity | None = field(
        default=None, metadata=measured("faucet above the middle of the keg", ("length", "-100 m", "100 m"))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """Warm lines, what their beer costs and what waiting costs."""

    lines: tuple[BeerLine, ...] = field(metadata=count("the lines to be cleared", 1, 200))
    pitcher: Quantity = field(metadata=measured("what a pitcher holds", ("volume", "0.1 L", "10 L"), usual="60 floz"))
    glass: Quantity = field(metadata=measured("what a glass holds", ("volume", "0.01 L", "10 L"), usual="16 floz"))
    pour_rate: Quantity = field(
        metadata=measured("at the faucet", ("volume_flow", "0.06 L/min", "60 L/min"), usual="0.9375 gal/min")
    )
    keg_price: float | None = field(default=None, metadata=amount("what a keg costs the house", 0, 1e6))
    keg_volume: Quantity = field(metadata=measured("beer in that keg", BEER, usual="15.5 gal"))
    sales_per_hour: float | None = field(
        default=None, metadata=amount("earned on draught beer while taps pour, 0 while closed", 0, 1e6)
    )
    wait: Quantity | None = field(
        default=None, metadata=measured("until the glycol has cooled the lines", ("time", "0 s", "7 d"))
    )
    cools: bool = field(metadata=flag("whether the glycol gets the lines cold at all", usual=True))
    stays_cold: bool = field(metadata=flag("whether fresh beer from the keg arrives cold", usual=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearedLine:
    """What one line holds and needs."""

    tap: str | None = field(metadata=told("name of the tap"))
    volume: Quantity = field(metadata=told("beer in the line, by its geometry"))
    pitchers: float = field(metadata=told("to run off"))
    restriction: Quantity | None = field(metadata=told("pressure lost, rise included; null: size not in the table"))
    gravity: Quantity = field(metadata=told("the part of the pressure that the rise takes"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Cleared:
    """What all lines hold, and what to do."""

    lines: tuple[ClearedLine, ...] = field(metadata=told("line by line"))
    volume: Quantity = field(metadata=told("to run off in all"))
    pitchers: float = field(metadata=told("in all"))
    glasses: float = field(metadata=told("in all"))
    time: Quantity = field(metadata=told("for one person, tap after tap"))
    action: str | None = field(metadata=told("purge, wait or neither; null while price, sales or wait are not given"))
    reason: str | None = field(metadata=told("why"))
    advice: str | None = field(metadata=told("the same in a sentence"))
    purge_cost: float | None = field(metadata=told("beer and lost sales, in the money given"))
    wait_cost: float | None = field(metadata=told("lost sales, in the money given"))


def clear(asked: Lines) -> Outcome:
    """What to run off, against waiting."""
    volumes = [line_volume(bore=line.bore.value, length=line.length.value) for line in asked.lines]
    made = {"pitcher": asked.pitcher.value, "glass": asked.glass.value, "flow": asked.pour_rate.value}
    cleared = purge(volumes, **made)
    choice = _choice(asked, cleared)
    lines = [_line(line, volume, asked.pitcher.value) for line, volume in zip(asked.lines, volumes, strict=True)]
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


def _choice(asked: Lines, cleared: Purge) -> Choice | None:
    wait = asked.wait.value if asked.wait is not None else None
    wait = wait if asked.cools else inf
    if asked.keg_price is None or asked.sales_per_hour is None or wait is None:
        return None
    return purge_or_wait(
        cleared,
        beer_price=asked.keg_price / asked.keg_volume.value,
        wait=wait,
        sales=asked.sales_per_hour / 3600.0,
        stays_cold=asked.stays_cold,
    )


def _notes(lines: list[ClearedLine], choice: Choice | None) -> list[str]:
    notes = ["A line is clear when its volume has run off, within a few per cent; foam runs longer."]
    if choice is None:
        notes.append("With keg_price, sales_per_hour and wait it also says whether to run the beer off or to wait.")
    if any(line.restriction is None for line in lines):
        notes.append("For a tubing and size that the published table does not hold the pressure lost is left out.")
    return notes


CALCULATION = Calculation(
    name="line-purge",
    title="Clear warm beer lines",
    what_for="Beer to run off at each tap and in all, its cost against waiting, and the pressure each line takes.",
    asks=Lines,
    tells=Cleared,
    compute=clear,
    method="Plug flow: the volume of the line, pi b^2 L / 4; pressure by the published loss per foot plus rho g h.",
    source=(
        "Draught Beer Tubing Specifications, reference sheet of a beer-server certification course, 2021; "
        "pitcher of 60 fl oz and the choice by cost: common practice, no source"
    ),
    cautions=("A keg under pressure and CO2 in a closed cooler can hurt: ventilate, and shut the gas before opening.",),
    example={
        "lines": [{"tap": "1", "tubing": "vinyl", "bore": "0.25 in", "length": "20 ft"}],
        "keg_price": 120,
        "sales_per_hour": 60,
        "wait": "45 min",
    },
)
