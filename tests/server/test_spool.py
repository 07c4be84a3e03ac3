"""Where bodies and answers lie on their way."""

import pytest

from service.server.spool import ANSWER_IN_MEMORY, IN_MEMORY, PIECE, Budget, Spool

MIB = 1024 * 1024


def spooled(budget: Budget, pieces: list[bytes], in_memory: int) -> Spool:
    content = Spool(budget, in_memory)
    for piece in pieces:
        content.write(piece)
    content.rewind()
    return content


@pytest.mark.parametrize("sizes", [[10], [MIB], [MIB, 1], [2 * MIB], [2 * MIB, 5], [5 * MIB], [1, 5 * MIB, 3]])
@pytest.mark.parametrize("in_memory", [IN_MEMORY, ANSWER_IN_MEMORY])
def test_what_was_written_is_read(sizes: list[int], in_memory: int) -> None:
    pieces = [bytes([n + 1]) * size for n, size in enumerate(sizes)]
    budget = Budget(100 * MIB)
    content = spooled(budget, pieces, in_memory)

    assert content.on_disk == (sum(sizes) > in_memory)
    assert budget.used == (0 if content.on_disk else sum(sizes))
    read = list(iter(lambda: content.file.read(PIECE), b""))
    assert b"".join(read) == b"".join(pieces)
    assert content.length == sum(sizes)
    content.close()
    assert budget.used == 0


def test_large_answers_leave_half_of_the_budget_to_bodies() -> None:
    budget = Budget(8 * MIB)
    answers = [spooled(budget, [bytes(2 * MIB)], ANSWER_IN_MEMORY) for _ in range(3)]
    answers.append(spooled(budget, [bytes(MIB)], ANSWER_IN_MEMORY))
    answers.append(spooled(budget, [bytes(MIB)], IN_MEMORY))

    assert [each.on_disk for each in answers] == [False, False, True, False, False]
    for each in answers:
        each.close()
    assert budget.used == 0
