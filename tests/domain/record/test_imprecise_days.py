"""Days that are not known exactly, as they are read."""

import pytest

from service.domain.record.imprecise_days import parse_imprecise_day


@pytest.mark.parametrize("text", ["unknown", "2025-13", "20x5"])
def test_a_month_or_year_that_is_none_is_named_as_written(text: str) -> None:
    with pytest.raises(ValueError, match=f"^'{text}' is neither a day"):
        parse_imprecise_day(text)
