"""Equal codes of a history are one text in memory."""

from service.domain.plain import from_plain
from service.domain.record.visits import Observation
from service.domain.shared_texts import shared


def again(text: str) -> str:
    return "".join(list(text))  # equal, and another object


def test_equal_codes_are_one_text_and_notes_stay_their_own():
    note = "pulled on the door of the cooler, and it stays open"

    assert shared(again("condenser_clean")) is shared(again("condenser_clean"))
    assert shared(again(note)) is not shared(again(note))
    assert (shared(None), shared("")) == (None, "")


def test_a_body_is_read_into_texts_that_are_shared():
    one, other = (from_plain(Observation, {"code": again("glycol_leak")}) for _ in range(2))

    assert one.code is other.code
