"""A first guess of what the codes in a column stand for, by the texts beside them."""

import re
from collections import Counter

from service.mapping.free_text import PART
from service.mapping.guess_headings import SOME, Block, Content, is_number
from service.mapping.model import NOTE, Column
from service.mapping.names import key_of

DISTINCT = 40
CODE_LIKE = re.compile(r"[A-Z0-9][A-Z0-9._/\-]{0,19}")
TASKS_SOLD = (
    ("condenser_clean", r"\b(?:condenser|coil)s? clean(?:ing)?\b|\bclean(?:ing)? (?:of )?(?:condenser|coil)s?\b"),
    ("strainer_clean", r"\bstrainers? clean(?:ing)?\b"),
    ("glycol_change", r"\bglycol (?:change|exchange|replacement)\b"),
)


def with_codes(column: Column, content: Content, block: Block) -> Column:
    """What the codes of a column stand for, by the texts that stand beside them."""
    counted = Counter(content.texts)
    if (
        column.to != NOTE
        or len(counted) > 3 * DISTINCT
        or len(counted) > 0.5 * block.rows
        or content.share(is_number) > SOME
    ):
        return column
    meant = {}
    for code in filter(CODE_LIKE.fullmatch, counted):
        rows = content.rows_with(code)
        found = Counter(what for each in rows for text in each if (what := _meaning(text))).most_common(1)
        if found and found[0][1] >= 0.5 * len(rows):
            meant[code] = found[0][0]
    return Column(to=NOTE, facts=meant) if meant else column


def _meaning(text: str) -> str | None:
    """What a line of an invoice stands for: a task, a part that was fitted, a kind of visit, or none of them."""
    part = part_in(text)
    words = key_of(text)
    for task, pattern in TASKS_SOLD:
        if re.search(pattern, words):
            return f"task.{task}"
    if part and not re.search(r"\b(?:check|clean|service|repair|labou?r|call|maintenance|rental|quote|return)", words):
        return f"replacement.{part}"
    for kind, pattern in (
        ("service_call", r"service call|call ?out|emergency|repair"),
        ("maintenance", r"maintenance|\bpm\b"),
        ("installation", r"installation|start ?up"),
    ):
        if re.search(pattern, words):
            return f"visit.kind.{kind}"
    return None


def part_in(text: str) -> str | None:
    """The kind of component that a text names."""
    return next((kind for kind, pattern in PART if pattern.search(text)), None)
