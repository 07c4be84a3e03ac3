"""What the unit does, inferred as in an assessment: from the readings asked about and what was looked for."""

from dataclasses import replace
from datetime import UTC, datetime

from service.domain.assessment.evidence import gather
from service.domain.assessment.operating_state import OperatingState, operating_state
from service.domain.record.visits import Observation, Visit
from service.domain.triage.measured import of_one_moment
from service.domain.triage.question import Question

BEFORE_ALL = datetime(1970, 1, 1, tzinfo=UTC)  # readings without an instant come first


def state_of(question: Question, system: str) -> OperatingState:
    """The operating state, unknown where no state is more likely than all others together."""
    visit = Visit(
        id="asked about",
        unit=question.unit.tag,
        kind="service_call",
        arrived_at=BEFORE_ALL,
        posted_at=BEFORE_ALL,
        posted_by="",
        time_zone="UTC",
        readings=of_one_moment(question.readings),
        observations=tuple(Observation(code=each.code) for each in question.seen if each.present),
    )
    absent = frozenset(each.code for each in question.seen if not each.present)
    return operating_state(replace(gather(visit, question.unit, system, None, question.elevation), absent=absent))
