"""The definitions name the numbers that the program uses."""

import re

from service.domain.root_causes.engine import WATCH, tier_of
from service.domain.summary.fleet_sentences import DEFINITIONS


def test_the_tiers_change_where_their_definition_says():
    (text,) = [each.text for each in DEFINITIONS if each.term == "Tier of a root cause"]
    watch, probable, strong = map(float, re.search(r"below ([\d.]+), ([\d.]+), ([\d.]+)\.", text).groups())

    assert [tier_of(chance) for chance in (probable, strong, strong / 2)] == ["watch", "probable", "strong"]
    assert watch == WATCH
