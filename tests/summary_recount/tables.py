"""Units and published tables for the recount; nothing of the application."""

from bisect import bisect_left
from math import log

ICE = 273.15
PSI, ATMOSPHERE = 6894.757293168, 101325.0  # Pa; the pound-force per square inch follows from its definition

# exact by definition of the units; the dimensionless ones are fractions
SI = {
    "degC": lambda n: n + ICE,
    "degF": lambda n: (n + 459.67) / 1.8,
    "K": lambda n: n,
    "deltaC": lambda n: n,
    "deltaF": lambda n: n / 1.8,
    "kPa": lambda n: n * 1e3,
    "bar": lambda n: n * 1e5,
    "psi": lambda n: n * PSI,
    "A": lambda n: n,
    "V": lambda n: n,
    "mV": lambda n: n / 1e3,
    "%": lambda n: n / 100,
    "mass%": lambda n: n / 100,
    "vol%": lambda n: n / 100,
    "Brix": lambda n: n,
    "pH": lambda n: n,
    "in": lambda n: n * 0.0254,
    "ft": lambda n: n * 0.3048,
    "mm": lambda n: n / 1e3,
    "cm": lambda n: n / 100,
    "m": lambda n: n,
    "g": lambda n: n / 1e3,
    "kg": lambda n: n,
    "lb": lambda n: n * 0.45359237,
    "oz": lambda n: n * 0.45359237 / 16,
    "s": lambda n: n,
    "min": lambda n: n * 60,
    "h": lambda n: n * 3600,
    "d": lambda n: n * 86400,
}

# ASHRAE Handbook of Fundamentals, 2001, freezing points of aqueous propylene glycol: mass %, vol %, °C; water added.
PROPYLENE = [
    (0, 0, 0.0), (5, 4.8, -1.6), (10, 9.6, -3.3), (15, 14.5, -5.1), (20, 19.4, -7.1), (25, 24.4, -9.6),
    (30, 29.4, -12.7), (33, 32.4, -14.8), (35, 34.4, -16.4), (40, 39.6, -21.1), (45, 44.7, -26.7), (50, 49.9, -33.5),
    (55, 55.0, -41.6), (60, 60.0, -51.1),
]  # fmt: skip
# The same table of ethylene glycol, as CoolProp's data files of ASHRAE hold it (TFreeze, Vol2Mass): mass %, vol %, °C.
# From 20 % on not the strengths between which the program interpolates, so that an error in one of those shows.
ETHYLENE = [
    (0, 0, 0.0), (5, 4.4, -1.4), (10, 8.9, -3.2), (15, 13.6, -5.4), (21, 19.2, -8.4), (24, 22.0, -10.2),
    (27, 24.8, -12.0), (29, 26.7, -13.3), (31, 28.7, -14.8), (34, 31.6, -17.0), (36, 33.5, -18.6), (39, 36.5, -21.3),
    (41, 38.5, -23.2), (44, 41.5, -26.4), (46, 43.5, -28.8), (49, 46.6, -32.6), (51, 48.6, -35.1), (54, 51.6, -39.3),
    (56, 53.7, -42.6), (58, 55.7, -45.6), (60, 57.8, -48.3),
]  # fmt: skip
# Propylene glycol by a sugar scale at 20 °C, a Lorentz-Lorenz model computed with other libraries: Brix, mass %.
BRIX = [(0, 0), (14.79, 20), (18.41, 25), (21.97, 30), (24.06, 33), (25.43, 35), (28.8, 40), (35.2, 50)]
# Gauge pressures [psi] at temperatures [°F]: charts citing NIST REFPROP, and CoolProp 8.0.0 where a chart ends.
BUBBLE = {
    "R-134a": [(0, 6.5), (10, 11.9), (20, 18.4), (30, 26.1), (40, 35.0), (90, 104.3), (100, 124.2), (110, 146.4),
               (120, 171.2), (130, 198.7)],
    "R-404A": [(0, 33.7), (10, 44.3), (20, 56.6), (30, 70.7), (40, 86.9), (85, 189.5), (90, 204.47), (120, 312.05)],
    "R-290": [(0, 23.69), (15, 36.31), (30, 51.81), (90, 150.53), (120, 227.85)],
    "R-449A": [(0, 33.65), (15, 50.46), (30, 71.36), (90, 207.88), (120, 316.96)],
}  # fmt: skip
DEW = BUBBLE | {
    "R-404A": [(0, 32.61), (15, 48.99), (30, 69.33), (85, 187.5), (90, 202.41), (120, 309.88)],
    "R-449A": [(0, 23.97), (15, 38.41), (30, 56.65), (90, 180.77), (120, 284.37)],
}


def si(recorded):
    """A value as text, "28 degF", or as an answer shows it, in SI."""
    number, unit = (recorded["value"], recorded["unit"]) if isinstance(recorded, dict) else recorded.split(" ")
    return SI[unit](float(number))


def unit_of(recorded):
    """The unit of a value as text."""
    return recorded.split(" ")[1]


def between(points, x):
    """Straight between the points, and on beyond the ends."""
    ordered = sorted(points)
    place = min(max(bisect_left(ordered, (x,)), 1), len(ordered) - 1)
    (x0, y0), (x1, y1) = ordered[place - 1], ordered[place]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


def freezing(mass_fraction, table):
    """[K]"""
    return between([(mass, celsius) for mass, _, celsius in table], mass_fraction * 100) + ICE


def strength(recorded, table):
    """(mass fraction, how far the table may be off) of a strength as text; None where it is recorded in Brix."""
    value, unit = si(recorded), unit_of(recorded)
    if unit == "mass%":
        return value, 1e-6
    if unit == "vol%":
        return between([(volume, mass) for mass, volume, _ in table], value * 100) / 100, 0.012
    if unit == "Brix":
        return between(BRIX, value) / 100, 0.015
    return between([(celsius, mass) for mass, _, celsius in table], value - ICE) / 100, 0.02


def saturation(gauge, table):
    """(temperature [K], how far it may be off) at a gauge pressure [Pa]: ln p goes straight over 1/T."""
    points = [(log(psig * PSI + ATMOSPHERE), -1.8 / (fahrenheit + 459.67)) for fahrenheit, psig in table]
    inside = points[0][0] <= log(gauge + ATMOSPHERE) <= points[-1][0]
    return -1 / between(points, log(gauge + ATMOSPHERE)), 0.4 if inside else 2.5
