"""Coordinates as people have them: both pasted into one field, alone or inside the link of a map."""

import re
from collections.abc import Mapping
from typing import Any

PAIR = re.compile(r"(-?\d{1,2}\.\d+)(?:[,;/]|%2C)\s*(-?\d{1,3}\.\d+)", re.IGNORECASE)
HINT = (
    'press long on the place in a map and copy what it shows, such as "39.7392, -104.9903", or copy the map\'s link: '
    "pasted here it fills in both"
)
WEST = "west of Greenwich below zero, such as -104.99"


def place_of(document: dict[str, Any]) -> tuple[dict[str, Any], Mapping[str, str]]:
    """A document whose latitude holds both coordinates, with each in its field; one with a number as it is.

    >>> place_of({"latitude": "39.7392, -104.9903"})[0]
    {'latitude': 39.7392, 'longitude': -104.9903}
    >>> place_of({"latitude": "https://map.example/#map=17/39.7392/-104.9903"})[0]
    {'latitude': 39.7392, 'longitude': -104.9903}
    >>> place_of({"latitude": 39.74})[0], place_of({"latitude": "by the river"})[0]
    ({'latitude': 39.74}, {'latitude': 'by the river'})
    """
    text = document.get("latitude")
    if isinstance(text, str) and (found := PAIR.search(text)):
        return document | {"latitude": float(found[1]), "longitude": float(found[2])}, {}
    return document, {}
