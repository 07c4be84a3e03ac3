"""A service summary as it was handed out to the customer: kept byte for byte."""

from dataclasses import dataclass
from datetime import datetime

from service.domain.summary.document import ServiceSummary


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """Which service summary a document is: `digest` is that of the data it rests on."""

    customer: str
    year: int
    as_of: datetime
    digest: str
    program_version: str


def edition_of(summary: ServiceSummary) -> Edition:
    """Which one a service summary is."""
    return Edition(
        customer=summary.customer,
        year=summary.year,
        as_of=summary.as_of,
        digest=summary.data_state.digest,
        program_version=summary.program_version,
    )


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
