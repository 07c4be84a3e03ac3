"""What was learned from the fleet, written and read again."""

import json

from service.domain.root_causes.baselines import Baselines, default_setting, defaults
from service.domain.root_causes.baselines_json import from_json, to_json
from service.domain.root_causes.sequences import Sequence

AFTER_PUMP = Sequence("pump", "power_switch", 16, 3.6, 2.6, 1e-6, stands=True)
LEARNED = Baselines({kind: default_setting(kind) for kind in ("power_switch", "pump")}, (AFTER_PUMP,))


def test_what_was_learned_is_read_as_it_was_written():
    assert from_json(to_json(LEARNED)) == LEARNED
    assert from_json(to_json(defaults())) == defaults()


def test_what_was_learned_of_other_causes_is_left_to_the_defaults():
    shown = json.loads(to_json(LEARNED)) | {"layout": "another"}

    assert from_json(json.dumps(shown)) == Baselines({}, (AFTER_PUMP,))
