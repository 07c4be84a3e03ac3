"""A root cause in plain sentences, put together from its facts when it is read."""

from collections import Counter
from collections.abc import Sequence
from datetime import date
from typing import Any, NamedTuple

from service.domain.record.imprecise_days import in_words as in_day_words
from service.domain.root_causes.causes import BY_CODE, UNEXPLAINED
from service.domain.root_causes.presence import Facts, at_failures, found_fouled, rating_unknown, went_on
from service.domain.root_causes.timing import after_others, may_be_gone, quiet, season, span_of
from service.domain.root_causes.wording import BY_DAYS, MADE, NO_RATING, OVER, WORDS, Words

NEEDED = {"causes", "events", "quiet", "after_others", "remarks", "expected_failures_next_year"}
SHOWN_FROM = 0.02
RAREST = 0.001  # the model is not good enough to separate rarer chances
SURE = {"watch": "Possible cause", "probable": "Probable cause", "strong": "Almost certain cause"}  # in this order
ALMOST_CERTAIN, PROBABLE = 0.9, 0.5
WORDED = ("other_explanations", "next_check", "remedy", "bring", "explanation")  # what `in_words` adds


def in_words(facts: Facts) -> dict[str, Any]:
    """The facts of a root cause, as JSON holds them, and the words and sentences that follow from them.

    One that was stored with its words, by a former version or an import, keeps them where facts are missing.
    """
    if not _complete(facts):
        return dict(facts)
    words = _advice(facts)
    return {
        **facts,
        "other_explanations": others(facts),
        "next_check": words.confirm,
        "remedy": words.remedy,
        "bring": list(words.bring),
        "explanation": sentences(facts),
    }


def without_words(document: Facts) -> dict[str, Any]:
    """The facts alone where the words follow from them, all of it where facts are missing."""
    return {name: value for name, value in document.items() if name not in WORDED or not _complete(document)}


def _complete(facts: Facts) -> bool:
    return facts.keys() >= NEEDED and bool(facts["causes"] and facts["events"])


def _words(share: Facts) -> Words:
    """The words of a cause; one that is listed no more is not explained."""
    return WORDS.get(share["cause"], WORDS["unexplained"])


def by_days(facts: Facts) -> bool:
    """Whether the most probable cause follows from days alone: nobody found it so."""
    first = facts["causes"][0]
    return first["cause"] in BY_DAYS and not (first.get("measured") or found_fouled(facts))


def _words_of_first(facts: Facts) -> Words:
    """Those of the most probable cause; of one that is not known to be there, that it may be so."""
    first = facts["causes"][0]
    if rating_unknown(facts):
        return NO_RATING
    return BY_DAYS[first["cause"]] if by_days(facts) else _words(first)


def others(facts: Facts) -> list[str]:
    """The other explanations, chance first, each with how probable it is."""
    less = [each for each in facts["causes"][1:] if each["probability"] >= SHOWN_FROM]
    named = [f"{_words(each).sentence} ({one_in(each['probability'])})" for each in less]
    return [f"chance ({one_in(facts['probability_of_chance'])})", *named]


def sentences(facts: Facts) -> str:
    """What failed, when and where; the cause, how sure that is and when it was present; what else; what to do."""
    return " ".join(f"{part.label}: {part.text}" if part.named else part.text for part in _parts(facts))


def lines(document: Facts) -> list[tuple[str, str]]:
    """The same in short lines, each with its label; all that is there in one where facts are missing."""
    if not _complete(document):
        return [("Why", str(document["explanation"]))]
    by_label: dict[str, list[str]] = {}
    for part in _parts(document):
        by_label.setdefault(part.label, []).append(part.text)
    return [(label, " ".join(texts)) for label, texts in by_label.items()]


class Part(NamedTuple):
    """A part of the explanation; `named` where its label stands in the running text too."""

    label: str
    text: str
    named: bool = False


def _parts(facts: Facts) -> list[Part]:
    words = _advice(facts)
    unnamed = (
        ("What was so each time", [*at_failures(facts), *_gone(facts), *_evidence(facts)]),
        ("When", [*season(facts), *after_others(facts), *quiet(facts)]),
    )
    return [
        Part("What failed", _failed(facts)),
        _likeliest(facts),
        *(Part(label, text) for label, texts in unnamed for text in texts),
        *_else(facts),
        Part("Next check", words.confirm, named=True),
        Part("Remedy", words.remedy, named=True),
        *(Part("Next year", text) for text in _expected(facts)),
        *(Part("Limits of the record", text) for text in _remarks(facts)),
    ]


def brief(document: Facts) -> str:
    """What failed, when and where, and the cause; all that is there where facts are missing."""
    if not _complete(document):
        return str(document["explanation"])
    cause = _likeliest(document)
    return f"{_failed(document)} {cause.label}: {cause.text}"


def _failed(facts: Facts) -> str:
    events = facts["events"]
    first = min(date.fromisoformat(event.get("earliest") or event["day"]) for event in events)
    last = date.fromisoformat(events[-1]["day"])
    days = ", ".join(map(day_of, events)) if len(events) <= 4 else f"{first} to {last}"
    return (
        f"{_name(facts['component_kind']).capitalize()}: {_how_many(facts)} within "
        f"{span_of((last - first).days + 1)} ({days}), {_places(events)}."
    )


def _how_many(facts: Facts) -> str:
    """How many failed, and how many were replaced for a reason that nobody knows, which may be none."""
    unknown = int(facts["remarks"].get("unknown_why", 0))
    counts = {"failure": len(facts["events"]) - unknown, "replacement": unknown}
    each = [_counted_as(count, name) for name, count in counts.items() if count]
    return " and ".join(each) + (" for an unknown reason" if unknown else "")


def day_of(event: Facts) -> str:
    """The day of a failure, as well as it is known."""
    stated = event.get("stated")
    return str(event["day"]) if stated is None else in_day_words(stated)


def _places(events: Sequence[Facts]) -> str:
    counts = Counter(event["component"] for event in events)
    if len(counts) == 1:
        return f"all at {next(iter(counts))}"
    return " and ".join(f"{count} at {code}" for code, count in sorted(counts.items()))


def _likeliest(facts: Facts) -> Part:
    best, chance = facts["causes"][0], facts["probability_of_chance"]
    cause, number = _words_of_first(facts).sentence, f"probability of chance {one_in(chance)}"
    if chance > best["probability"]:
        text = f"{cause}; but chance is more probable than any one cause ({number})."
        return Part(how_sure(facts), text, named=True)
    return Part(how_sure(facts), f"{cause} ({number}).{_shown_by(facts)}", named=True)


def how_sure(facts: Facts) -> str:
    """How sure it is that these failures have the cause that is named first, in words; of the tier where it has none.

    What was read in trouble alone, or a rating that nobody recorded, makes no cause almost certain.
    """
    if not _complete(facts):
        return SURE[facts["tier"]]
    best = facts["causes"][0]["probability"]
    if facts["probability_of_chance"] > best:
        return SURE["watch"]
    least = _least_sure(facts["tier"], best)
    doubtful = "read_in_trouble" in facts["remarks"] or rating_unknown(facts)
    return SURE["probable" if least == "strong" and doubtful else least]


def _shown_by(facts: Facts) -> str:
    best, before = facts["causes"][0], facts["events"][-1].get("readings_before", {})
    if not best.get("measured"):
        return ""
    if best["cause"] == "switch_undersized" and not any(name.split(" ")[0] == "current" for name in before):
        return " The ratings show it; the current was not read."
    return " Readings or findings show it."


def _least_sure(tier: str, probability: float) -> str:
    """The tier says how improbable chance is; another cause may be as probable as the first one."""
    of_cause = "strong" if probability >= ALMOST_CERTAIN else "probable" if probability >= PROBABLE else "watch"
    return min(tier, of_cause, key=list(SURE).index)


def one_in(probability: float) -> str:
    """A probability as one of so many, two digits at most: more would claim to be known.

    >>> one_in(0.024), one_in(0.36), one_in(0.9), one_in(1e-9)
    ('1 in 42', '1 in 3', '9 in 10', 'under 1 in 1000')
    """
    if probability < RAREST:
        return f"under 1 in {1 / RAREST:.0f}"
    if probability > 0.4:
        return "over 9 in 10" if probability > 0.95 else f"{10 * probability:.0f} in 10"
    return f"1 in {float(f'{1 / probability:.2g}'):.0f}"


def _advice(facts: Facts) -> Words:
    """What to check and do: of the most probable cause; where it was put right or is over, whether that holds."""
    if facts.get("state") == "resolved":
        return MADE
    return OVER if may_be_gone(facts) else _words_of_first(facts)


def _gone(facts: Facts) -> list[str]:
    return went_on(facts, WORDS.get(facts["remarks"].get("gone", ""), WORDS["unexplained"]).sentence)


def _evidence(facts: Facts) -> list[str]:
    """What was read and found up to the last failure that bears on the cause, and what that is compared with."""
    causes = (facts["causes"][0]["cause"], facts["remarks"].get("gone"))
    bears = {name for code in causes if (cause := BY_CODE.get(code)) for name in (*cause.reads, *cause.tasks)}
    before = facts["events"][-1].get("readings_before", {})
    found = [f"{reading_name(name)} {text}" for name, text in before.items() if name.split(" ")[0] in bears]
    plates = [f"{_name(name)} {text}" for name, text in facts.get("nameplates", {}).items()]
    by_plates = not found and causes[0] == "switch_undersized"  # no reading is needed to say it
    texts = {"Up to the last failure": found, "For comparison": plates if found else [], "Rated": plates * by_plates}
    return [*(f"{head}: {'; '.join(each)}." for head, each in texts.items() if each), *_not_done(facts)]


def _not_done(facts: Facts) -> list[str]:
    """That the work which would have prevented it was not done, how often, when last, and why."""
    remarks = facts["remarks"]
    if "not_done" not in remarks:
        return []
    times, why = _counted_as(int(remarks["not_done"]), "visit"), str(remarks["not_done_why"]).rstrip(". ")
    return [f"Not done at {times} before that, last on {remarks['not_done_last']}: {why}."]


def reading_name(name: str) -> str:
    """A reading with its component, or a kind of work, all of which are cleanings."""
    if name.endswith("_clean"):
        name += "ing"
    return _name(name.replace(" ", " at "))


def _else(facts: Facts) -> list[Part]:
    less = _less_likely(facts)
    named = "; ".join(_words(each).sentence for each in less)
    return [Part("Other possible causes", f"{named}.", named=True)] if less else []


def _less_likely(facts: Facts) -> list[Facts]:
    return [each for each in facts["causes"][1:] if each["probability"] >= 0.1]


def _expected(facts: Facts) -> list[str]:
    if "retired_on" in facts["remarks"]:
        return []
    removed = "With these causes removed" if _less_likely(facts) else "With this cause removed"
    condition = "Without action" if facts["causes"][0]["cause"] == UNEXPLAINED.code else removed
    return [f"{condition}, expect about {facts['expected_failures_next_year']:.1f} failures in the next year."]


def _remarks(facts: Facts) -> list[str]:
    texts = {
        "reported": "{} reported to us, not seen by us: counted with less weight.",
        "not_cleaned_since": "No cleaning recorded since {}: counted as not cleaned.",
        "retired_on": "Unit retired on {}.",
        "before_installation": "Records begin before the installation date: one of the dates is wrong.",
        "unknown_why": "{} for a reason that nobody knows: counted with less weight.",
        "left_out": "{} dated, or perhaps dated, outside the unit's history: not counted.",
        "fleet_shows": "New parts that failed early here fail early at other units too: {}.",
        "read_in_trouble": "Its {} was read only when a failure may have made it so: read it while all is well.",
    }
    remarks, counted = (
        dict(facts["remarks"]),
        {"reported": "failure", "left_out": "replacement", "unknown_why": "replacement"},
    )
    remarks |= {code: _name(remarks[code]) for code in ("read_in_trouble",) if code in remarks}
    return [
        text.format(_counted_as(int(remarks[code]), counted[code]) if code in counted else remarks[code])
        for code, text in texts.items()
        if code in remarks
    ]


def _counted_as(count: int, name: str) -> str:
    return f"{count} {name}" if count == 1 else f"{count} {name}s"


def _name(kind: str) -> str:
    return kind.replace("_", " ")
