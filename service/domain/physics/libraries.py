"""The heavy libraries, imported here alone, on first use, so that the command line starts fast.

`import CoolProp` blocks the interpreter for about two seconds and stalls every other thread meanwhile: a server calls
`load_all` before it listens. Setting COOLPROP_DISABLE_SUPERANCILLARIES_ENTIRELY in the environment before that cuts
it to a quarter of a second, but makes CoolProp print a line on standard output; it works either way.
"""

from collections.abc import Callable
from importlib import import_module
from threading import RLock
from types import ModuleType

# CoolProp has answered with zeros under concurrent use (its issue 2283): take this round every call.
coolprop_lock = RLock()


def coolprop() -> ModuleType:
    """Return the module CoolProp.CoolProp, imported at the first call; hold `coolprop_lock` while calling it."""
    with coolprop_lock:
        return import_module("CoolProp.CoolProp")


def props_si(output: str, *state: str | float) -> float:
    """Return CoolProp's PropsSI(output, *state) in SI, one call at a time; ValueError where CoolProp refuses it."""
    with coolprop_lock:
        return float(coolprop().PropsSI(output, *state))


def load_all() -> None:
    """Import every heavy library and make CoolProp read its fluids, so that no request waits for it."""
    for name in ("numpy", "scipy.interpolate", "scipy.linalg", "scipy.optimize", "scipy.stats", "fluids.friction"):
        import_module(name)
    props_si("P", "T", 273.15, "Q", 1, "R134a")


def root(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where `function` crosses zero between `low` and `high`, by Brent's method, to the last few digits."""
    from scipy.optimize import brentq  # type: ignore[import-untyped]  # scipy ships no types

    return float(brentq(function, low, high, xtol=1e-14 * max(abs(low), abs(high)), rtol=1e-14))
