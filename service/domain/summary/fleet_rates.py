"""Failures against the time watched: by model, by kind of component this year and before, and by age."""

from collections.abc import Iterable, Iterator, Sequence

from service.domain.record.failed import FAILED
from service.domain.statistics.mean_cumulative import Watch, longest_span, mean_cumulative
from service.domain.statistics.rates import rate_interval, two_periods
from service.domain.summary.fleet_lines import (
    ALIKE,
    ALL_REASONS,
    FAILED_ONLY,
    FEWER,
    MORE,
    TOO_FEW,
    Curve,
    CurveStep,
    KindYear,
    ModelLine,
)
from service.domain.summary.fleet_unit import FleetUnit

LEAST_WATCHED = 5
SURE = 0.05


def by_model(units: Sequence[FleetUnit]) -> tuple[ModelLine, ...]:
    """Failures per unit-year by model and by maker; highest lower limit first, so that one failure does not lead."""
    groups: dict[tuple[str, str | None], list[FleetUnit]] = {}
    for unit in units:
        if unit.line.maker is not None:
            groups.setdefault((unit.line.maker, None), []).append(unit)
            if unit.line.model is not None:
                groups.setdefault((unit.line.maker, unit.line.model), []).append(unit)
    lines = [line for (maker, model), group in groups.items() if (line := _model_line(maker, model, group))]
    return tuple(sorted(lines, key=lambda each: (-each.low, -each.rate, each.maker, each.model or "")))


def _model_line(maker: str, model: str | None, units: Sequence[FleetUnit]) -> ModelLine | None:
    years = sum(unit.years for unit in units)
    if years <= 0.0:
        return None
    failed = sum(event.in_year and event.reason == FAILED for unit in units for event in unit.events)
    low, high = rate_interval(failed, exposure=years)
    return ModelLine(
        maker=maker,
        model=model,
        units=len(units),
        unit_years=years,
        failed=failed,
        rate=failed / years,
        low=low,
        high=high,
    )


def by_kind(units: Sequence[FleetUnit], kinds: Iterable[str]) -> tuple[KindYear, ...]:
    """Each kind of component this year against before, the clearest change first."""
    lines = [_kind_year(kind, [unit for unit in units if kind in unit.kinds]) for kind in kinds]
    return tuple(sorted(lines, key=lambda each: (1.0 if each.chance is None else each.chance, each.kind)))


def _kind_year(kind: str, units: Sequence[FleetUnit]) -> KindYear:
    in_year = [event.in_year for unit in units for event in unit.events if (event.kind, event.reason) == (kind, FAILED)]
    now, before = sum(in_year), len(in_year) - sum(in_year)
    years, years_before = sum(unit.years for unit in units), sum(unit.years_before for unit in units)
    rate, low, high = _rate(now, years)
    rate_before, low_before, high_before = _rate(before, years_before)
    chance = _unlike(now, before, years=years, years_before=years_before)
    return KindYear(
        kind=kind,
        units=len(units),
        failed=now,
        unit_years=years,
        rate=rate,
        low=low,
        high=high,
        failed_before=before,
        unit_years_before=years_before,
        rate_before=rate_before,
        low_before=low_before,
        high_before=high_before,
        chance=chance,
        verdict=_verdict(chance, rate, rate_before),
    )


def _rate(count: int, years: float) -> tuple[float | None, float | None, float | None]:
    """The rate with its exact limits at 95 %."""
    return (count / years, *rate_interval(count, exposure=years)) if years > 0.0 else (None, None, None)


def _unlike(now: int, before: int, *, years: float, years_before: float) -> float | None:
    """The probability of counts so unlike at one rate; None where there is nothing to compare."""
    if now + before == 0 or years <= 0.0 or years_before <= 0.0:
        return None
    return two_periods(now, before, first_time=years, second_time=years_before)


def _verdict(chance: float | None, rate: float | None, rate_before: float | None) -> str:
    if chance is None or rate is None or rate_before is None:
        return TOO_FEW
    return ALIKE if chance >= SURE else MORE if rate > rate_before else FEWER


def curves(units: Sequence[FleetUnit], kinds: Iterable[str]) -> tuple[Curve, ...]:
    """The mean cumulative replacements of each kind, of those failed and of all; none where too few were watched."""
    return tuple(
        curve for kind in kinds for reason in (FAILED_ONLY, ALL_REASONS) for curve in _curve(units, kind, reason)
    )


def _curve(units: Sequence[FleetUnit], kind: str, reason: str) -> Iterator[Curve]:
    watches = [_watch(unit, kind, reason) for unit in units if kind in unit.kinds]
    span = longest_span(watches, LEAST_WATCHED)
    if span is None:
        return
    within = [watch.within(*span) for watch in watches]
    steps = mean_cumulative(within)
    events = sum(len(watch.ages) for watch in within)
    yield Curve(
        kind=kind,
        reason=reason,
        units=sum(watch.until > watch.after for watch in within),
        after_days=max(int(span[0]), 0),
        until_days=int(span[1]),
        events=events,
        outside=sum(len(watch.ages) for watch in watches) - events,
        steps=tuple(
            CurveStep(age_days=int(step.age), watched=step.at_risk, mean=step.mean, low=low, high=high)
            for step in steps
            for low, high in (step.limits(),)
        ),
    )


def _watch(unit: FleetUnit, kind: str, reason: str) -> Watch:
    found = (event for event in unit.events if event.kind == kind and reason in (event.reason, ALL_REASONS))
    ages = tuple(sorted(event.age for event in found))
    return Watch(ages, unit.life.after - unit.life.origin, max(unit.life.until, unit.life.after) - unit.life.origin)
