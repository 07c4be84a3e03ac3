"""A fleet with planted causes through the real import and the real interface."""

import json
from dataclasses import replace

from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.engine import root_causes_of
from tests.api.conftest import MAKER
from tests.simulation.fleet import fleet
from tests.simulation.lines import lines
from tests.simulation.plan import Plan

MADE = fleet(120, 21, Plan(rate=6.0))
TODAY = MAKER.at.date()


def test_the_interface_reports_of_a_made_fleet_what_the_engine_says_of_its_truth(client, as_owner):
    shown = "\n".join(json.dumps(line) for line in lines(MADE)).encode()
    taken = client.post("/v1/imports", data=shown, content_type="application/x-ndjson", headers=as_owner)
    found = client.get("/v1/root-causes?limit=200", headers=as_owner).json["items"]

    wanted = {
        (each.unit, each.component_kind): (each.tier, each.causes[0].cause, each.probability_of_chance)
        for made in MADE
        for each in root_causes_of(replace(made.history, end=TODAY), defaults(), TODAY)
    }
    assert taken.status_code == 201
    assert len(wanted) > 5
    assert {(c["unit"], c["component_kind"]): (c["tier"], c["causes"][0]["cause"]) for c in found} == {
        key: shown[:2] for key, shown in wanted.items()
    }
    for cause in found:
        assert abs(cause["probability_of_chance"] - wanted[cause["unit"], cause["component_kind"]][2]) < 1e-9
