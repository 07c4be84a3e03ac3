"""Which format the caller's `Accept` asks for."""

from collections.abc import Mapping

from flask import request
from werkzeug.exceptions import NotAcceptable


def accepted(offered: Mapping[str, str], what: str) -> str:
    """The format by the media types offered, the first of them without `Accept`; NotAcceptable when none fits."""
    best = request.accept_mimetypes.best_match(list(offered))
    if best is not None:
        return offered[best]
    if request.accept_mimetypes:
        raise NotAcceptable(f"The {what} comes as {', '.join(offered)}.")
    return next(iter(offered.values()))
