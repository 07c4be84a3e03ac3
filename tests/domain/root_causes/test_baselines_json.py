"""What was learned from the fleet, written and read again."""

import json
from datetime import date

from service.domain.root_causes.baselines import Baselines, default_setting, defaults
from service.domain.root_causes.baselines_json import from_json, to_json
from service.domain.root_causes.fleet_search import FleetCause
from service.domain.root_causes.sequences import Sequence

AFTER_PUMP = Sequence("pump", "power_switch", 16, 3.6, 2.6, 1e-6, stands=True)
BATCH = FleetCause(
    "model", "Tarn P9", ("pump",), "bad_parts", "strong", 0.001, ("K-1", "K-2", "K-3"), 4, 5, 0.3,
    date(2026, 3, 1), date(2026, 5, 1),
)  # fmt: skip
LEARNED = Baselines({kind: default_setting(kind) for kind in ("power_switch", "pump")}, (AFTER_PUMP,), (BATCH,), (3, 7))


def test_what_was_learned_is_read_as_it_was_written():
    assert from_json(to_json(LEARNED)) == LEARNED
    assert from_json(to_json(defaults())) == defaults()


def test_what_was_learned_of_other_causes_is_left_to_the_defaults():
    shown = json.loads(to_json(LEARNED)) | {"layout": "another"}

    assert from_json(json.dumps(shown)) == Baselines({}, (AFTER_PUMP,), (BATCH,), (3, 7))
