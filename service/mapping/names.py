"""Who is meant: customers, sites, units and technicians by code or name as a shop writes them.

A name is found where it is equal but for case, punctuation, blanks, "the" and zeros before a number. What is only
similar is proposed and never taken by itself.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from functools import lru_cache

from service.schemas.fields import CODE
from service.workbooks.cells import plain

CUT, MARGIN, CLOSE = 0.72, 0.06, 3
MOST_SEARCHED = 2000  # names in a file: a search among all that are known takes time


class Unknown(ValueError):
    """Nobody is known by this name; `close` are similar ones, the most similar first."""

    def __init__(self, kind: str, text: str, close: tuple[str, ...]) -> None:
        self.kind, self.text, self.close = kind, text, close
        meant = f" Did you mean {' or '.join(repr(name) for name in close)}?" if close else ""
        super().__init__(f"there is no {kind} {text!r}.{meant}")


class Several(ValueError):
    """More than one is known by this name."""


@lru_cache(maxsize=65536)
def key_of(text: str) -> str:
    """A name in the form in which names are compared.

    >>> key_of("GU 0012"), key_of("The Lantern-Room")
    ('gu 12', 'lantern room')
    """
    words = re.findall(r"[^\W\d_]+|[0-9]+", plain(text).casefold().replace("'", "").replace("’", ""))
    kept = [word.lstrip("0") or "0" if word.isdigit() else word for word in words]
    return " ".join(kept[1:] if len(kept) > 1 and kept[0] == "the" else kept)


def slug(text: str) -> str:
    """A code made of a name.

    >>> slug("The Lantern Room, Quay"), slug("Café Zoë")
    ('the-lantern-room-quay', 'cafe-zoe')
    """
    import unicodedata

    letters = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    made = "-".join(re.findall(r"[a-z0-9]+", letters.casefold().replace("'", "").replace("’", "")))
    if not made:
        made = "x" + "-".join(f"{ord(c):x}" for c in text if not c.isspace())[:40]
    return made[:60].strip("-")


def code_of(text: str) -> str:
    """The text itself where it is a code, else a code made of it."""
    return text if CODE.fullmatch(text) else slug(text)


def is_tag(text: str) -> bool:
    """Whether a text can be the tag of one unit in the whole fleet, and not of one at each site: letters and a number.

    >>> is_tag("GU 12"), is_tag("#1"), is_tag("upstairs")
    (True, False, False)
    """
    key = key_of(text)
    return any(c.isdigit() for c in key) and any(c.isalpha() for c in key)


@dataclass(slots=True)
class Known:
    """The customers, sites, units or technicians that are known: their names, and to whom each belongs."""

    kind: str
    names: dict[str, set[str]] = field(default_factory=dict)
    parents: dict[str, str] = field(default_factory=dict)
    shown: dict[str, str] = field(default_factory=dict)
    _keys: dict[str, set[str]] = field(default_factory=dict)
    _searched: int = 0

    def add(self, code: str, names: Iterable[str | None], parent: str = "") -> None:
        """Know one by its code and names."""
        keys = self.names.setdefault(code, set())
        given = [name for name in names if name]
        self.shown.setdefault(code, given[0] if given else code)
        for name in (code, *given):
            keys.add(key_of(name))
            self._keys.setdefault(key_of(name), set()).add(code)
        if parent:
            self.parents[code] = parent

    def of(self, parents: Iterable[str]) -> list[str]:
        """Those that belong to one of these."""
        wanted = set(parents)
        return sorted(code for code, parent in self.parents.items() if parent in wanted)

    def find(self, text: str, within: Iterable[str] | None = None, aliases: Mapping[str, str] | None = None) -> str:
        """The one that is meant; Unknown or Several otherwise. `within` are those that can be meant."""
        meant = alias(text, aliases or {})
        found = self._keys.get(key_of(meant), set())
        among = found if within is None else found & set(within)
        if meant in among:
            return meant
        if len(among) == 1:
            return next(iter(among))
        if len(among) > 1:
            raise Several(f"{text!r} can be {', '.join(sorted(among)[:8])}; write the code")
        raise Unknown(self.kind, text, self.close(meant, within))

    def close(self, text: str, within: Iterable[str] | None = None) -> tuple[str, ...]:
        """The most similar names, each of another one."""
        self._searched += 1
        if self._searched > MOST_SEARCHED:
            return ()
        sure = self.surely(text) if within is None else None
        if sure is not None:
            return (sure if self.kind == "unit" else self.shown[sure],)
        return tuple(self.shown[code] if self.kind != "unit" else code for _, code in self.ranked(text, within))[:CLOSE]

    def ranked(self, text: str, within: Iterable[str] | None = None) -> list[tuple[float, str]]:
        """How similar which are, the most similar first."""
        key = key_of(text)
        among = self.names.keys() if within is None else within
        scored = [(max(_similar(key, name) for name in self.names[code]), code) for code in among if code in self.names]
        return sorted((pair for pair in scored if pair[0] >= CUT), key=lambda pair: (-pair[0], pair[1]))

    def surely(self, text: str, cut: float = CUT) -> str | None:
        """The one that is meant beyond doubt by a misspelt name: close, no other nearly as close, the same numbers."""
        ranked = self.ranked(_digits_mended(text))
        if not ranked or ranked[0][0] < cut or (len(ranked) > 1 and ranked[0][0] - ranked[1][0] < MARGIN):
            return None
        code = ranked[0][1]
        numbers = re.findall(r"[0-9]+", key_of(_digits_mended(text)))
        same = any(re.findall(r"[0-9]+", name) == numbers for name in self.names[code])
        return code if same and not _opposed(key_of(text), self.names[code]) else None


OPPOSED = (
    {"east", "west", "north", "south"},
    {"upstairs", "downstairs", "basement"},
    {"left", "right"},
    {"front", "back", "rear"},
)


def _opposed(key: str, names: Iterable[str]) -> bool:
    words = set(key.split())
    return any((words & group) and not any(words & group & set(n.split()) for n in names) for group in OPPOSED)


def _digits_mended(text: str) -> str:
    """Letters typed for digits beside digits: GU-OO12 is GU-0012."""
    return re.sub(r"(?<=[0-9\-# ])[oO]+(?=[0-9oO])|(?<=[0-9])[oO]+", lambda found: "0" * len(found[0]), text)


@lru_cache(maxsize=131072)
def _similar(one: str, other: str) -> float:
    matcher = SequenceMatcher(None, one, other, autojunk=False)
    return matcher.ratio() if matcher.real_quick_ratio() >= CUT and matcher.quick_ratio() >= CUT else 0.0


def alias(text: str, aliases: Mapping[str, str]) -> str:
    """What a text stands for by the mapping, or itself."""
    if text in aliases:
        return aliases[text]
    key = key_of(text)
    return next((meant for written, meant in aliases.items() if key_of(written) == key), text)
