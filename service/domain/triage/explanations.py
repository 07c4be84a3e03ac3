"""All explanations, and the one for what is not among them."""

from service.domain.triage.explanation import Explanation, runs
from service.domain.triage.of_loop import LOOP
from service.domain.triage.of_refrigeration import REFRIGERATION
from service.domain.triage.of_supply import SUPPLY

SOMETHING_ELSE, NOTHING_WRONG = "something_else", "nothing_wrong"
ELSE = Explanation(
    code=SOMETHING_ELSE,
    sentence="Something that is not in this list.",
    prior=0.03,
    nodes=(*runs(0.6, 0.2, drag=1.5), *runs(0.4, 0.2, drag=1.9)),
    symptoms={"other": 6.0, "alarm": 3.0, "no_flow": 12.0},
    test="Repeat the readings that fit nothing, with another instrument.",
    remedy="Widen the search.",
)
EXPLANATIONS: tuple[Explanation, ...] = (*SUPPLY, *REFRIGERATION, *LOOP, ELSE)
BY_CODE = {each.code: each for each in EXPLANATIONS}
