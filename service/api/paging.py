"""Lists in parts: a cursor holds the last key of a part, so the next part starts behind it however the list grows."""

import base64
import binascii
import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar
from urllib.parse import urlencode

from flask import Response, request

from service.api import wire
from service.domain.errors import Fault, Invalid

Item = TypeVar("Item")
KeyPart = str | int | float


def cursor(key: Sequence[KeyPart]) -> str:
    """The opaque form of a key.

    >>> cursor(["2026-06-09", 7])
    'WyIyMDI2LTA2LTA5Iiw3XQ'
    """
    return base64.urlsafe_b64encode(json.dumps(list(key), separators=(",", ":")).encode()).rstrip(b"=").decode()


def after(query: Mapping[str, Any], *kinds: type[KeyPart]) -> Any:
    """The last key of the previous page, its parts of these kinds; None on the first. Invalid for a foreign cursor."""
    text = query.get("cursor")
    if text is None:
        return None
    key = _decoded(text)
    if not isinstance(key, list) or not _fits(key, kinds):
        raise Invalid([Fault("cursor", text, "not a cursor of this list; take it from the `next` of an answer")])
    return tuple(key)


def _decoded(text: str) -> Any:
    try:
        raw = base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
        return json.loads(raw)
    except (binascii.Error, ValueError, RecursionError):
        return None


def _fits(key: list[Any], kinds: tuple[type[KeyPart], ...]) -> bool:
    return len(key) == len(kinds) and all(_part_fits(part, kind) for part, kind in zip(key, kinds, strict=True))


def _part_fits(part: Any, kind: type[KeyPart]) -> bool:
    if type(part) is not kind:
        return False
    return wire.storable(part) if isinstance(part, str) else abs(part) <= wire.LARGEST_INTEGER


def page(
    found: Sequence[Item],
    query: Mapping[str, Any],
    *,
    key: Callable[[Item], Sequence[KeyPart]],
    show: Callable[[Item], Any],
    more: Mapping[str, Any] | None = None,
) -> Response:
    """One part of a list, from up to `limit + 1` items found: the extra one only shows that there are more.

    `more` stands beside the items.
    """
    items = found[: query["limit"]]
    following = next_path(key(items[-1])) if len(found) > len(items) else None
    headers = {"Link": f'<{following}>; rel="next"'} if following else None
    return wire.answer({"items": [show(item) for item in items], "next": following, **(more or {})}, headers=headers)


def next_path(key: Sequence[KeyPart]) -> str:
    """This request's path and parameters, with the cursor behind `key`."""
    return path_with(cursor(key))


def path_with(following: str) -> str:
    """This request's path and parameters, with another cursor."""
    kept = [(name, value) for name, value in request.args.items(multi=True) if name != "cursor"]
    return f"{request.path}?{urlencode([*kept, ('cursor', following)])}"


def first_part(query: Mapping[str, Any]) -> str | None:
    """The last key of the previous page, for lists ordered by one natural key."""
    key = after(query, str)
    return None if key is None else key[0]
