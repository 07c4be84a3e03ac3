"""The refrigerants of glycol units: names, CoolProp's fluids, and safety classes.

Names are read as the trade writes them: "R-134a", "R134A", "HFC-134a", "134a", "propane", "R-507".
"""

import re
from dataclasses import dataclass
from functools import lru_cache

COMMON_LIMIT = 343.15  # [K] 70 degC; every fluid below that is not near its critical point there
FLAMMABLE_CLASSES = frozenset({"A2L", "A2", "A3"})


class UnknownRefrigerant(ValueError):
    """The name of no known refrigerant; `known` lists the known ones."""

    def __init__(self, name: str) -> None:
        self.name, self.known = name, tuple(each.name for each in REFRIGERANTS)
        super().__init__(f"{name!r} is none of the refrigerants known here: {', '.join(self.known)}")


@dataclass(frozen=True, slots=True)
class Refrigerant:
    """One refrigerant; `safety_class` by ASHRAE 34, `hottest` the highest saturation temperature answered [K]."""

    name: str
    fluid: str
    safety_class: str
    hottest: float = COMMON_LIMIT

    @property
    def flammable(self) -> bool:
        """Whether its ASHRAE 34 class is flammable (A2L lower, A2, A3 higher flammability)."""
        return self.safety_class in FLAMMABLE_CLASSES


# Fluids ending in ".mix" are CoolProp's mixtures, the other blends its pseudo-pure fluids.
# Classes: CoolProp's own data for R-134a, R-404A, R-290, R-507A, R-410A, R-22, R-407C, R-1234yf, R-12 and R-1270;
# ANSI/ASHRAE Standard 34 from memory for the rest (R-32 was A2 before the class A2L came).
REFRIGERANTS = (
    Refrigerant("R-134a", "R134a", "A1"),
    Refrigerant("R-404A", "R404A", "A1", hottest=338.15),
    Refrigerant("R-290", "R290", "A3"),
    Refrigerant("R-448A", "R448A.mix", "A1", hottest=338.15),
    Refrigerant("R-449A", "R449A.mix", "A1"),
    Refrigerant("R-452A", "R452A.mix", "A1", hottest=338.15),
    Refrigerant("R-507A", "R507A", "A1", hottest=338.15),
    Refrigerant("R-513A", "R513A.mix", "A1"),
    Refrigerant("R-450A", "R450A.mix", "A1"),
    Refrigerant("R-410A", "R410A", "A1", hottest=338.15),
    Refrigerant("R-600a", "R600a", "A3"),
    Refrigerant("R-1270", "R1270", "A3"),
    Refrigerant("R-22", "R22", "A1"),
    Refrigerant("R-12", "R12", "A1"),
    Refrigerant("R-407A", "R407A.mix", "A1"),
    Refrigerant("R-407C", "R407C", "A1"),
    Refrigerant("R-422D", "R422D.mix", "A1", hottest=338.15),
    Refrigerant("R-427A", "R427A.mix", "A1"),
    Refrigerant("R-32", "R32", "A2L"),
    Refrigerant("R-1234yf", "R1234yf", "A2L"),
    Refrigerant("R-1234ze(E)", "R1234ze(E)", "A2L"),
    Refrigerant("R-454C", "R454C.mix", "A2L", hottest=338.15),
    Refrigerant("R-455A", "R455A.mix", "A2L", hottest=338.15),
)
ALSO_CALLED = {"propane": "290", "isobutane": "600a", "propylene": "1270", "propene": "1270", "507": "507a"}
PREFIX = re.compile(r"^(?:r|hfc|hcfc|cfc|hfo|hc)(?=\d)")


@lru_cache(maxsize=256)
def _key(name: str) -> str:
    """Return the name without case, blanks, hyphens and the letters before the number: "R-134a" and "HFC134A" alike."""
    bare = PREFIX.sub("", re.sub(r"[\s\-_]", "", name.lower()))
    return ALSO_CALLED.get(bare, bare)


_BY_KEY = {_key(each.name): each for each in REFRIGERANTS} | {
    "1234ze": next(each for each in REFRIGERANTS if each.fluid == "R1234ze(E)")
}


def refrigerant(name: str) -> Refrigerant:
    """Return the refrigerant that the trade calls by this name.

    Parameters
    ----------
    name : str
        Name in any of the trade's spellings [-].

    Returns
    -------
    Refrigerant
        Name, CoolProp fluid, ASHRAE 34 safety class and highest saturation temperature [-].

    Raises
    ------
    UnknownRefrigerant
        If it is none of `REFRIGERANTS`.

    References
    ----------
    ANSI/ASHRAE Standard 34, Designation and Safety Classification of Refrigerants: designations and classes, from
    memory save where CoolProp 8.0.0 carries them.

    Examples
    --------
    >>> refrigerant("r134A").name, refrigerant("propane").safety_class, refrigerant("R-507").name
    ('R-134a', 'A3', 'R-507A')
    """
    try:
        return _BY_KEY[_key(name)]
    except KeyError:
        raise UnknownRefrigerant(name) from None


@lru_cache(maxsize=256)
def known_refrigerant(name: str | None) -> Refrigerant | None:
    """
    Return the refrigerant of a name on a record, if it is one of those known here.

    Parameters
    ----------
    name : str or None
        Name in any of the trade's spellings; None where none is recorded [-].

    Returns
    -------
    Refrigerant or None
        As `refrigerant`; None for no name and for one that is none of `REFRIGERANTS` [-].

    References
    ----------
    As `refrigerant`.

    Examples
    --------
    >>> known_refrigerant("R134A") is refrigerant("R-134a"), known_refrigerant("R-9"), known_refrigerant(None)
    (True, None, None)
    """
    try:
        return None if name is None else refrigerant(name)
    except UnknownRefrigerant:
        return None
