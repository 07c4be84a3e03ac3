"""What becomes of a unit between visits: dirt on the condenser, water in the glycol, a bath that sinks.

The story is plain: the condenser's split is the clean split plus a growth that dirt brings, faster where it is greasy;
compressor and fan draw more as it grows; glycol gets weaker with every top-up of water and is set right at the checks.
Rates and spreads are invented so as to look like a service company's records.
"""

from dataclasses import dataclass, field
from datetime import date
from math import cos, pi
from random import Random

from fleet_units import Unit

TARGET_STRENGTH = 35.0  # mass %

# split growth in deltaF, from and up to, that a technician calls by this word
_GROWTH = {"clean": (0.3, 2.0), "light": (3.4, 7.6), "heavy": (9.6, 13.2), "blocked": (15.5, 21.0)}
_LIMITS = (("clean", 2.5), ("light", 9.0), ("heavy", 15.0))

# mean and summer-to-mean swing of the air around the unit, degF
_AIR = {"greasy": (85, 8), "dusty": (74, 7), "clean": (70, 4), "outdoor": (58, 25)}


@dataclass
class Grades:
    """The as-found words of one task at one unit.

    The shop's rounds keep a fixed beat while a grade changes the interval, so good grades are dealt out that make up
    for bad ones: on the whole the beat fits the dirt. `factor` is what the grades so far did to the interval. `steady`:
    only trouble brings a bad grade; `often`: the beat is short enough for a bad grade to be made up for soon.
    """

    steady: bool
    often: bool = True
    factor: float = 1.0
    run: int = 0

    def note(self, word: str) -> str:
        """Remember what was found."""
        self.run = self.run + 1 if word == "clean" else 0
        self.factor *= {"heavy": 0.75, "blocked": 0.5}.get(word, 1.0)
        if self.run == 2:
            self.run, self.factor = 0, self.factor * 1.25
        return word

    def next(self, rng: Random) -> str:
        """What will be found next time if nobody is late."""
        if self.steady:
            return "clean" if self.factor < 0.95 else "light"
        if self.factor < 0.9:
            weights = (80, 20, 0)
        elif self.factor > 1.1:
            weights = (0, 65, 35)
        else:
            weights = (4 if self.run else 22, 68, 12 if self.often else 0)
        return rng.choices(("clean", "light", "heavy"), weights)[0]

    def next_of_strainer(self, rng: Random) -> str:
        """As `next`; a strainer is found heavy only when something went wrong."""
        if self.factor < 0.9:
            return "clean"
        return "light" if self.run or rng.random() < 0.8 else "clean"


@dataclass
class Condition:
    """One unit on one day. Temperatures in degF, growth in deltaF, strength in mass %, level in %."""

    unit: Unit
    surroundings: str
    beat: int
    rng: Random
    day: date
    steady: bool
    growth: float = 3.0
    rate: float = 0.1
    strength: float = TARGET_STRENGTH
    level: float = 93.0
    acidity: float = 9.3
    grades: Grades = field(init=False)
    strainer: Grades = field(init=False)

    def __post_init__(self) -> None:
        self.grades, self.strainer = Grades(self.steady, often=self.beat < 60), Grades(steady=False)
        self.cleaned(thorough=True)

    @property
    def leaks(self) -> bool:
        """Whether this is the bath that loses fluid and gets water for it, the planted cause of its pump failures."""
        return self.unit.tag == "GU-0501"

    def live_until(self, day: date) -> None:
        """Let the days pass."""
        days = max((day - self.day).days, 0)
        self.day = day
        self.growth += self.rate * days
        self.level -= days * (0.45 if self.leaks else self.rng.uniform(0.03, 0.09))
        self.strength -= days * (0.055 if self.leaks else self.rng.uniform(0.004, 0.022))
        self.acidity -= days * 0.0009
        self.level, self.strength = max(self.level, 40.0), max(self.strength, 18.5)

    def found(self) -> str:
        """The word for the condenser as it is now."""
        return next((word for word, limit in _LIMITS if self.growth < limit), "blocked")

    def cleaned(self, *, thorough: bool = False) -> None:
        """The condenser has been cleaned; how fast it will get dirty again is settled here."""
        low, high = _GROWTH[self.grades.next(self.rng)]
        self.growth = 0.0 if thorough else self.rng.uniform(0.1, 0.5)
        self.rate = max(self.rng.uniform(low, high) - self.growth, 0.1) / self.beat

    def clog(self) -> None:
        """Something has blown against the condenser, or nobody came for weeks."""
        self.growth = max(self.growth, self.rng.uniform(*_GROWTH["blocked"]))

    def topped_up(self) -> None:
        """The bath is full again; the top-up is a little weaker than the bath."""
        self.level = self.rng.uniform(91, 98)
        self.strength -= self.rng.uniform(0.1, 0.5)

    def corrected(self, *, fresh: bool = False) -> None:
        """The glycol has its strength again; fresh glycol its alkalinity too."""
        self.strength = TARGET_STRENGTH + self.rng.uniform(-0.9, 1.1)
        self.acidity = self.rng.uniform(9.2, 9.7) if fresh else self.acidity + 0.05

    def air(self) -> float:
        """The air around the unit: warm in July, cold in January."""
        mean, swing = _AIR[self.surroundings]
        season = -cos(2 * pi * (self.day.timetuple().tm_yday - 20) / 365)
        return mean + swing * season + self.rng.gauss(0, 2.2)

    def split(self) -> float:
        """Condensing temperature above the air entering the condenser."""
        return float(self.unit.make.refrigeration["clean_split"].split()[0]) + self.growth + self.rng.gauss(0, 0.6)

    def amps(self, code: str, *, condensing: float = 105.0) -> float:
        """Current of a component: the compressor's rises with condensing temperature, the fan's with dirt."""
        part = next(part for part in self.unit.make.parts if part["code"] == code)
        rated = float(part["rated_current"].split()[0])
        share = {"compressor": 0.74 + 0.006 * (condensing - 105), "condenser_fan": 0.85 + 0.008 * self.growth}
        thick = 0.004 * (self.strength - TARGET_STRENGTH)
        return rated * (share.get(part["kind"], 0.84 + thick) + self.rng.gauss(0, 0.012))
