"""JSON of pauses of a unit and closures of a site."""

from typing import Any, ClassVar

from marshmallow import Schema, fields

from service.domain.instants import at_site
from service.domain.record.pauses import Pause, plain_text
from service.schemas.fields import Count, Day, Flag, Instant, line, version
from service.schemas.paging import Page

FROM = {"description": "the first day"}
UNTIL = {"description": "the last day; null: not known yet, and nothing is due until it ends"}


class PauseSchema(Schema):
    """Days on which a unit is out of service; nothing falls due then, and what did is due on the day of return."""

    class Meta:
        """The field whose name Python keeps for itself."""

        include: ClassVar = {"from": Day(required=True, metadata=FROM)}

    until = Day(allow_none=True, metadata=UNTIL)
    reason = line(2000, required=True)
    number = Count(dump_only=True)
    withdrawn = Flag(dump_only=True)
    at = Instant(dump_only=True, metadata={"description": "when this was recorded"})
    by = fields.String(dump_only=True)
    version = version()


class ClosureSchema(PauseSchema):
    """Days on which a site is closed, as for the season; its units are out of service then."""

    until = Day(required=True, metadata={"description": "the last day"})


class PausePatch(PauseSchema):
    """What to correct; `until` ends an open pause, `withdrawn` takes back one that was recorded by mistake."""

    withdrawn = Flag()


class ClosurePatch(ClosureSchema):
    """What to correct; `withdrawn` takes back one that was recorded by mistake."""

    withdrawn = Flag()


class PausePage(Page):
    """A page of pauses."""

    items = fields.List(fields.Nested(PauseSchema), required=True)


class ClosurePage(Page):
    """A page of closures."""

    items = fields.List(fields.Nested(ClosureSchema), required=True)


def shown_pause(pause: Pause, zone: str) -> dict[str, Any]:
    """A pause as it holds, its instant by the site's clock."""
    text = pause.text
    return {"number": pause.number, **plain_text(text), "at": at_site(text.at, zone), "version": pause.version}
