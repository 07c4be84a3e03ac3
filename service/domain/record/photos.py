"""Photos of visits: what was found and left, as pictures."""

from dataclasses import dataclass
from datetime import datetime

from service.domain.record.visits import Void

LARGEST = 8 * 1024 * 1024  # bytes of a picture as it is sent
LARGEST_KEPT = 1_400_000  # bytes as it is kept: in base 64 it is a line of an export
LONGEST_EDGE = 2048  # pixels as it is kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photo of a visit; `sha256` names the file that has its bytes, always a JPEG.

    `sent_sha256` is of the picture as it was sent. `component` is what it shows, `when` as_found or as_left. One that
    is removed (`void`) stays with its reason.
    """

    id: str
    visit: str
    sha256: str
    sent_sha256: str
    size: int
    width: int
    height: int
    caption: str | None = None
    component: str | None = None
    when: str | None = None
    posted_at: datetime
    posted_by: str
    void: Void | None = None
