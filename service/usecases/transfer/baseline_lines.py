"""The figures learned from the fleet on each day as lines of the export, and imported again."""

from collections.abc import Iterator, Mapping
from typing import Any

import orjson

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid
from service.domain.instants import to_text
from service.domain.record.checks import AHEAD
from service.storage.store import Store
from service.usecases import audit


def lines(store: Store) -> Iterator[dict[str, Any]]:
    """The figures of each day, oldest first; units are named by their tags."""
    tags = {unit_id: tag for unit_id, (tag, _) in store.failures.sites().items()}
    for at, text in store.baselines.in_order():
        figures = orjson.loads(text)
        figures["measured"] = [tags[unit_id] for unit_id in figures.get("measured", ()) if unit_id in tags]
        yield {"record": "baseline", "at": at, "figures": figures}


def take(store: Store, actor: Actor, line: Mapping[str, Any], text: str) -> str:
    """Store the figures of a day from a line: "added", or "unchanged" where that day has some."""
    if line["at"] > actor.at + AHEAD:
        raise Invalid([Fault("at", to_text(line["at"]), f"is in the future; it is now {to_text(actor.at)}")])
    at = to_text(line["at"])
    if store.baselines.any_of(at):
        return "unchanged"
    figures = orjson.dumps(line["figures"] | {"measured": _units(store, line["figures"])}).decode()
    _check(figures)
    store.baselines.keep(figures, at)
    audit.imported(store, actor, "baseline", at[:10], before=None, after=text)
    return "added"


def _units(store: Store, figures: Mapping[str, Any]) -> list[int]:
    """The units whose readings may show a fault; one that is not known here is left out."""
    tags = figures.get("measured", [])
    if not isinstance(tags, list) or not all(isinstance(tag, str) for tag in tags):
        raise Invalid([Fault("figures.measured", None, "must be a list of tags")])
    known = (store.units.present_tag(tag) for tag in tags)
    return [store.units.place(tag).id for tag in known if tag is not None]


def _check(figures: str) -> None:
    """Refuse what could not be read again."""
    from service.domain.root_causes import baselines_json  # it needs scipy

    try:
        baselines_json.from_json(figures)
    except (KeyError, TypeError, ValueError, AttributeError) as wrong:
        raise Invalid([Fault("figures", None, "are no figures as an export writes them")]) from wrong
