"""What was learned from the fleet as JSON text and back."""

import json
from dataclasses import asdict
from typing import Any

from service.domain.plain import from_plain
from service.domain.root_causes import fleet_search, sequences
from service.domain.root_causes.baselines import Baselines
from service.domain.root_causes.comparison import Setting
from service.domain.root_causes.figures import layout


def to_json(baselines: Baselines) -> str:
    """Settings by component kind, sequences, what failures have in common, and the mark of the causes behind them."""
    settings = {kind: asdict(setting) for kind, setting in baselines.settings.items()}
    found: dict[str, Any] = {**sequences.plain(baselines.sequences), "fleet": fleet_search.plain(baselines.fleet)}
    found["measured"] = list(baselines.measured)
    return json.dumps({"layout": layout(), "settings": settings, **found})


def from_json(text: str) -> Baselines:
    """The inverse of `to_json`; settings learned for other causes than those listed by now are left to the defaults."""
    kept = json.loads(text)
    settings = kept["settings"] if kept["layout"] == layout() else {}
    learned = {kind: from_plain(Setting, part) for kind, part in settings.items()}
    fleet, measured = fleet_search.from_plain(kept), tuple(kept.get("measured", ()))
    return Baselines(learned, sequences.from_plain(kept), fleet, measured)
