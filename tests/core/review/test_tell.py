"""When and where a finding was, in words."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from core.accounts.findings import Finding
from core.figures import Figure
from core.review.tell import finding_dates, finding_place

DENVER = ZoneInfo("America/Denver")
NAMES = {"bed": "Border", "border": "Bed Border", "tubs": "Patio tubs"}


def finding(since: str = "2026-07-03T07:00", until: str | None = None, **over: object) -> Finding:
    """A finding by the clock in Denver."""
    begun, ended = (
        datetime.fromisoformat(t).replace(tzinfo=DENVER).astimezone(UTC) if t else None for t in (since, until)
    )
    values: dict[str, object] = {
        "kind": "steady", "meter": "curb", "zone": None, "group": (), "since": begun, "until": ended, "rate_lph": 5.0,
        "volume": Figure(100.0, "volume"), "strength": "fair", "score": 5.0,
    }  # fmt: skip
    return Finding(**(values | over))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("since", "until", "said"),
    [
        ("2026-07-16T05:00", "2026-07-16T09:00", "on 16 July"),
        ("2026-09-27T08:00", "2026-11-08T07:00", "from 27 September to 8 November"),
        ("2026-10-02T18:00", None, "since 2 October"),
        ("2026-07-03T22:30", "2026-07-04T05:00", "in the night of 3 July"),
        ("2026-07-31T18:00", "2026-08-01T10:00", "in the night of 31 July"),
        ("2026-07-03T07:35", "2026-07-04T07:20", "from 3 July to 4 July"),
        ("2026-07-03T12:00", "2026-07-04T02:00", "from 3 July to 4 July"),
        ("2026-07-03T21:00", "2026-07-04T16:00", "from 3 July to 4 July"),
        ("2026-07-03T21:00", "2026-07-05T06:00", "from 3 July to 5 July"),
    ],
)
def test_only_what_began_in_the_evening_and_ended_next_morning_is_a_night(
    since: str, until: str | None, said: str
) -> None:
    assert finding_dates(finding(since, until), DENVER) == said


@pytest.mark.parametrize(
    ("kind", "zone", "group", "said"),
    [
        ("steady", None, (), ""),
        ("stuck_open", "tubs", ("tubs",), "Patio tubs"),
        ("stuck_open", "tubs", (), "Patio tubs"),
        ("stuck_open", "bed", ("bed", "border", "tubs"), "Border, Bed Border or Patio tubs"),
        ("not_delivered", "bed", ("bed", "border"), "Border and Bed Border"),
        ("another_schedule", "bed", ("bed", "gone"), "Border and gone"),
        ("more_than_set", None, ("bed", "border"), "Border and Bed Border"),
    ],
)
def test_zones_are_joined_by_or_where_it_is_one_of_them(
    kind: str, zone: str, group: tuple[str, ...], said: str
) -> None:
    assert finding_place(finding(kind=kind, zone=zone, group=group), NAMES) == said
