"""What one reading alone says to be over is said so, with what would settle it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pandas as pd
import pytest

from core.accounts.findings import Finding, FindingKind
from core.figures import Figure
from core.review.ends import end_words, weighed
from core.review.tell import finding_dates

DENVER = ZoneInfo("America/Denver")


def leak(until: datetime | None, kind: FindingKind = "steady") -> Finding:
    since = datetime(2026, 9, 10, 20, tzinfo=UTC)
    return Finding(kind, "curb", None, (), since, until, 5.0, Figure(4900.0, "volume"), "strong", 9.0)


def readings(*ends: str, known: float = 60.0) -> pd.DataFrame:
    """Intervals to these instants, the first from noon of 20 October."""
    at = pd.to_datetime(["2026-10-20T12:00Z", *ends])
    return pd.DataFrame({"start": at[:-1], "end": at[1:], "metered_l": [60.0] * (len(ends) - 1) + [known]})


OVER = datetime(2026, 10, 21, 6, tzinfo=UTC)


def test_an_end_by_the_last_reading_alone_is_said_so() -> None:
    found = weighed(leak(OVER), readings("2026-10-21T06:00Z", "2026-10-21T14:00Z"))
    assert finding_dates(found, DENVER) == "from 10 September to 21 October, over by one reading alone"
    assert end_words(found) == (
        "Only the last reading says that it is over. Look whether the meter's dial stands still with everything off, "
        "or read it again in a day or two."
    )


def test_of_runs_the_next_ones_tell() -> None:
    found = weighed(leak(OVER, "more_than_set"), readings("2026-10-21T06:00Z", "2026-10-21T14:00Z"))
    assert end_words(found).endswith("Read the meter again after the next runs.")


@pytest.mark.parametrize(
    ("until", "ends", "known"),
    [
        (OVER, ("2026-10-21T06:00Z", "2026-10-21T14:00Z", "2026-10-22T14:00Z"), 60.0),  # a second reading says the same
        (None, ("2026-10-21T06:00Z", "2026-10-21T14:00Z"), 60.0),  # it goes on
        (OVER, ("2026-10-21T06:00Z", "2026-10-21T14:00Z"), float("nan")),  # the last one says nothing
    ],
)
def test_other_ends_are_not(until: datetime | None, ends: tuple[str, ...], known: float) -> None:
    found = weighed(leak(until), readings(*ends, known=known))
    assert end_words(found) == ""
    assert "one reading" not in finding_dates(found, DENVER)


def test_a_use_that_is_over_at_once_and_what_a_person_settled_ask_nothing() -> None:
    last = readings("2026-10-21T06:00Z", "2026-10-21T14:00Z")
    assert end_words(weighed(leak(OVER, "one_off"), last)) == ""
    assert end_words(replace(weighed(leak(OVER), last), decision="harmless")) == ""
