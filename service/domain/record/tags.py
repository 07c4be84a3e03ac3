"""A tag that a unit had before."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class FormerTag:
    """The tag, and when and by whom it was changed."""

    tag: str
    at: datetime
    by: str
