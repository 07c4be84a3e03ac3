"""Failed parts that others replaced, of which nobody recorded whether the beer was warm: said, and no breakdown."""

from dataclasses import replace
from datetime import UTC, date, datetime
from types import SimpleNamespace

from service.domain.bench.figures import figure
from service.domain.summary import counts, letter, outage_totals
from service.domain.summary.lines import ReplacementLine
from tests.rendering.test_summary_documents import a_unit

PART = ReplacementLine(
    unit="GU-0007", component="pump-1", kind="pump", on=date(2026, 4, 14), reason="failed", condition="seized",
    evidence="reported", by="others", visit="v", note=None,
)  # fmt: skip


def test_only_what_others_replaced_as_failed_on_a_day_without_an_outage_is_counted():
    ours, worn = replace(PART, by="us"), replace(PART, reason="precaution", condition="worn")
    outage = SimpleNamespace(on=date(2026, 4, 13), restored_on=date(2026, 4, 15))

    assert counts.unwitnessed([PART, ours, worn], ()) == 1
    assert counts.unwitnessed([PART], [outage]) == 0
    assert counts.unwitnessed([PART], [SimpleNamespace(on=date(2026, 4, 13), restored_on=None, ended="open")]) == 0
    assert counts.unwitnessed([PART], [SimpleNamespace(on=date(2026, 4, 10), restored_on=date(2026, 4, 13))]) == 1


def test_an_outage_that_was_found_by_chance_is_not_taken_to_go_on_for_as_long_as_it_may_have_gone_before():
    """Found on 10 March, over within a day; since when is not known: 69 days of the year at most."""
    found = SimpleNamespace(
        on=date(2026, 3, 10), restored_on=None, ended="taken_as_ended", begin_unknown=True,
        started_at=datetime(2026, 3, 10, 12, tzinfo=UTC), earliest_at=None, estimated_high=figure(69.5 * 86400, "time"),
    )  # fmt: skip

    assert counts.unwitnessed([PART], [found]) == 1
    assert counts.unwitnessed([replace(PART, on=date(2026, 3, 11))], [found]) == 0


def test_the_letter_says_beside_the_breakdowns_what_is_not_counted():
    unit = replace(a_unit(), replacements=(PART, replace(PART, component="fan-1")), outages=())
    figure = letter._breakdown_figure([unit], outage_totals.total(()), None, False)

    assert (figure.text, figure.more) == (
        "0", "not counted: 2 failed parts replaced by others, who reported no warm beer",
    )  # fmt: skip
