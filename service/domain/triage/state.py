"""What the unit does, inferred as in an assessment: from the readings asked about and what was looked for."""

from dataclasses import replace

from service.domain.assessment.evidence import gather
from service.domain.assessment.operating_state import OperatingState, operating_state
from service.domain.triage.asked_visit import as_visit
from service.domain.triage.measured import of_one_moment
from service.domain.triage.question import Question


def state_of(question: Question, system: str) -> OperatingState:
    """The operating state, unknown where no state is more likely than all others together."""
    present = [each.code for each in question.seen if each.present]
    visit = as_visit(question.unit, of_one_moment(question.readings), present)
    absent = frozenset(each.code for each in question.seen if not each.present)
    return operating_state(replace(gather(visit, question.unit, system, None, question.elevation), absent=absent))
