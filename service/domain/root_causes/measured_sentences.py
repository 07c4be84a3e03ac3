"""A fault that was measured, in plain sentences."""

from typing import Any

from service.domain.plain import to_plain
from service.domain.root_causes.explanation import reading_name
from service.domain.root_causes.measured import FaultMeasured
from service.domain.root_causes.wording import WORDS


def in_words(fault: FaultMeasured) -> dict[str, Any]:
    """As JSON: its facts, and the sentences that follow from them."""
    words = WORDS[fault.cause]
    place = f" at {fault.component}" if fault.component else ""
    read = "; ".join(f"{reading_name(name)} {text}" for name, text in fault.read.items())
    rated = "; ".join(f"{name} {text}" for name, text in fault.rated.items())
    text = [
        f"{f'Fault measured{place}' if read else f'Fault by the ratings{place}, not measured yet'}: {words.sentence}.",
        *([f"Last readings: {read}."] if read else []),
        *([f"Rated value: {rated}."] if rated else []),
        _failed(fault),
    ]
    facts: dict[str, Any] = to_plain(fault)
    return facts | {
        "next_check": words.confirm,
        "remedy": words.remedy,
        "bring": list(words.bring),
        "explanation": " ".join(text),
    }


def _failed(fault: FaultMeasured) -> str:
    if not fault.failed:
        return f"No part that it harms has failed since {fault.since}: correct it before one does."
    each = ", ".join(f"{kind.replace('_', ' ')} ({count})" for kind, count in fault.failed.items())
    return f"Parts that it harms and that failed since {fault.since}: {each}."
