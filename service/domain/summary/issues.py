"""A service summary as it was handed out to the customer: kept byte for byte."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Issue:
    """A document that was handed out: `digest` is that of the data it rests on, `sha256` that of its bytes."""

    id: str
    customer: str
    year: int
    issued_at: datetime
    issued_by: str
    as_of: datetime
    form: str
    digest: str
    program_version: str
    sha256: str
    size: int
