"""A site whose voltage is off: weighed once over all its units, for they share one supply."""

from collections.abc import Iterable
from datetime import date

import numpy as np

from service.domain.root_causes.attribution import MEASURED
from service.domain.root_causes.baselines import Baselines
from service.domain.root_causes.causes import causes_of
from service.domain.root_causes.comparison import Numbers, evidence_of, priors_of
from service.domain.root_causes.engine import tier_of
from service.domain.root_causes.figures import (
    FAILED_FIRST,
    FAILED_LAST,
    FAILURE_DAYS,
    FAILURES,
    KIND,
    KINDS,
    arrays_on,
    expected_on,
)
from service.domain.root_causes.fleet_search import FleetCause

SUPPLY = ("low_voltage", "high_voltage")
LEAST_UNITS = 2
MOST = 6.0  # ln of the odds that all units of a site can add: the units of a site are alike in more than their supply

Evidence = tuple[str, Numbers, float, float, float]
"""Tag and row; the evidence that it is for the cause (ln of odds), the cause's prior, how far it was measured."""


def off_voltage(site: str, units: Iterable[tuple[str, Numbers]], known: Baselines, day: int) -> list[FleetCause]:
    """The causes that failures at several units of a site point to, where one unit's voltage at least was read so.

    `units` are tag and rows of figures of each.
    """
    by_cause: dict[str, list[Evidence]] = {cause: [] for cause in SUPPLY}
    for tag, rows in units:
        for row in rows[rows[:, FAILURE_DAYS] >= 1]:
            for cause, evidence in _weighed(tag, row[None, :], known, day).items():
                by_cause[cause].append(evidence)
    each = (_found(cause, site, own, known, day) for cause, own in by_cause.items())
    return [found for found in each if found]


def _weighed(tag: str, row: Numbers, known: Baselines, day: int) -> dict[str, Evidence]:
    """The evidence that a row is for each cause that may be in the supply."""
    kind = _kind(row)
    setting, arrays = known.of(kind), arrays_on(row, kind, day)
    evidence, levels = evidence_of(arrays, setting)[0], arrays.measured_level[0]
    priors = priors_of(arrays, setting)[0]
    return {
        cause.code: (tag, row, float(evidence[n]), float(priors[n]), float(levels[n]))
        for n, cause in enumerate(causes_of(kind))
        if cause.code in SUPPLY
    }


def _kind(row: Numbers) -> str:
    return KINDS[int(row[0, KIND])]


def _found(cause: str, site: str, own: list[Evidence], known: Baselines, day: int) -> FleetCause | None:
    units = tuple(sorted({tag for tag, *_ in own}))
    if len(units) < LEAST_UNITS or max(level for *_, level in own) < MEASURED:
        return None
    prior = max(prior for *_, prior, _ in own)
    odds = np.log(prior / (1.0 - prior)) + np.clip(sum(added for _, _, added, _, _ in own), -MOST, MOST)
    chance = float(1.0 / (1.0 + np.exp(odds)))
    tier = tier_of(chance)
    if tier is None:
        return None
    rows = np.concatenate([row for _, row, *_ in own])
    return FleetCause(
        level="site",
        key=site,
        component_kinds=tuple(sorted({_kind(row) for _, row, *_ in own})),
        cause=cause,
        tier=tier,
        probability_of_chance=chance,
        units=units,
        failed=round(float(rows[:, FAILURES].sum())),
        compared=len(rows),
        expected=sum(expected_on(row, known.of(_kind(row)), day) for _, row, *_ in own),
        first=date.fromordinal(int(rows[:, FAILED_FIRST].min())),
        last=date.fromordinal(int(rows[:, FAILED_LAST].max())),
    )
