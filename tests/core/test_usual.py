"""What a new book begins with, by time zone. Signs of money and who measures in gallons: from memory."""

from __future__ import annotations

from zoneinfo import available_timezones

import pytest

from core import usual


@pytest.mark.parametrize(
    ("zone", "units", "sign"),
    [
        ("America/Denver", "us", "$"),
        ("America/Indiana/Knox", "us", "$"),
        ("Pacific/Honolulu", "us", "$"),
        ("US/Eastern", "us", "$"),
        ("America/Toronto", "metric", "$"),
        ("Australia/Perth", "metric", "$"),
        ("Europe/Lisbon", "metric", "€"),
        ("Atlantic/Madeira", "metric", "€"),
        ("Europe/London", "metric", "£"),
        ("Europe/Zurich", "metric", "CHF"),
        ("Asia/Dubai", "metric", ""),
        ("America/Indianapolis_of_nowhere", "metric", ""),
    ],
)
def test_a_guess_by_time_zone(zone: str, units: str, sign: str) -> None:
    assert (usual.usual_units(zone), usual.usual_currency(zone)) == (units, sign)


def test_every_zone_named_is_one_and_has_one_sign() -> None:
    named = [zone for zones in usual._SIGNS.values() for zone in zones if not zone.endswith("/")]
    assert len(named) == len(set(named))
    assert set(named) <= available_timezones()
