"""Instruments in hand: one bias each for a visit, shared by all its readings, noise and digits of its own.

Limits, from makers' data and trade press: clamp meter 2 % and 2 digits, voltmeter 0.7 %, thermocouples 1 to 2.2 K, pipe
clamps drawn toward the air, gauges 1 % of span, refractometer 0.5 Brix with sample and eye.
"""

from random import Random

from tests.simulation.units.situation import Situation
from tests.simulation.units.text import KPA_PER_PSI, fahrenheit, of

KPA_BIAS = {"suction_pressure": (120.0, 250.0), "discharge_pressure": (500.0, 500.0)}  # psi of span


class Instruments:
    """A technician's bag."""

    def __init__(self, rng: Random, now: Situation) -> None:
        self.rng, self.now = rng, now
        self.probe = rng.gauss(0.0, 0.45)
        self.air = rng.gauss(0.0, 0.6)
        self.pipe = rng.gauss(0.0, 0.8)
        self.toward_air = rng.uniform(0.0, 0.06)
        self.gauges = {name: rng.choice(spans) * rng.gauss(0.0, 0.005) for name, spans in KPA_BIAS.items()}
        self.ammeter = 1.0 + rng.gauss(0.0, 0.01) + now.ammeter_error
        self.voltmeter = 1.0 + rng.gauss(0.0, 0.004)
        self.refractometer = rng.gauss(0.0, 0.25)
        self.decimals = rng.choice((0, 1, 1))

    def _noise(self, deviation: float) -> float:
        return self.rng.gauss(0.0, deviation)

    def liquid(self, celsius: float, wrong: float = 0.0) -> str:
        """A temperature of bath, glycol, beer."""
        return of(fahrenheit(celsius + wrong) + self.probe + self._noise(0.25), "degF", self.decimals)

    def in_air(self, celsius: float) -> str:
        """A temperature of air."""
        return of(fahrenheit(celsius) + self.air + self._noise(0.6), "degF", self.decimals)

    def on_pipe(self, celsius: float) -> str:
        """A temperature of a pipe, drawn toward that of the air around."""
        drawn = celsius + self.toward_air * (self.now.ambient - celsius)
        return of(fahrenheit(drawn) + self.pipe + self._noise(0.4), "degF", self.decimals)

    def pressure(self, quantity: str, kilopascal: float) -> str:
        """A gauge pressure."""
        shown = kilopascal / KPA_PER_PSI + self.gauges[quantity] + self.now.gauge_error / KPA_PER_PSI
        return of(max(shown + self._noise(0.3), -14.0), "psi", self.decimals)

    def current(self, amperes: float) -> str:
        """A current by clamp meter; a bare 0 stays 0."""
        return of(max(amperes * self.ammeter + (self._noise(0.06) if amperes else 0.0), 0.0), "A")

    def voltage(self, volts: float) -> str:
        """A voltage by multimeter."""
        return of(max(volts * self.voltmeter + (self._noise(0.3) if volts else 0.0), 0.0), "V")

    def strength(self, brix: float) -> str:
        """A refractometer's reading."""
        return of(max(brix + self.refractometer + self._noise(0.15), 0.0), "Brix")

    def hot_spot(self, celsius: float) -> str:
        """A terminal by infrared thermometer."""
        return of(fahrenheit(celsius) + self._noise(1.5), "degF", 0)

    def level(self, share: float) -> str:
        """A bath level by eye."""
        return of(min(max(round((share + self._noise(0.02)) * 20.0) * 5.0, 5.0), 100.0), "%", 0)

    def flow(self, litres_an_hour: float) -> str:
        """A flow by bucket and watch."""
        return of(litres_an_hour / 3.7854 / 60.0 * (1.0 + self._noise(0.05)), "gal/min", 2)
