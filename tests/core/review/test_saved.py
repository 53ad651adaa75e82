"""What stands beside the saving: that plants went short only where some did.

Shrubs (see test_plants) need 30 L a day, 930 L in July; what their roots can easily draw lasts 8.99 days of that. Half
an hour at 60 L/h gives each day its 30 L.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from core.figures import Figure
from core.review import month_of
from core.review.picture import draw
from core.review.zones import FROM_SOIL, WENT_SHORT
from tests.core.review.gardens import begin, drip, normals, program, shrubs, weather, zone

END = datetime(2026, 8, 1, 6, tzinfo=UTC)  # midnight in Denver


def saved_in_july(folder: Path, until: date | None) -> tuple[float | None, Figure]:
    """Days short in July with a daily program that stopped on a day, and the month's saving."""
    setting = program(days="daily", minutes=30, since=date(2026, 6, 1), until=until)
    sky = weather(date(2026, 6, 1), date(2026, 7, 31))
    book = begin(folder, zone(), shrubs(since=date(2026, 6, 1)), drip(), setting, *sky, *normals())
    month = month_of(draw(book, END), "2026-07")
    return month.stress.value, month.saved


def test_what_the_soil_gave_is_no_shortage(tmp_path: Path) -> None:
    """Six days without, 180 L, are more than the 15 % of 930 L that is worth a word, and less than the soil holds."""
    short, saved = saved_in_july(tmp_path, date(2026, 7, 26))
    assert short == 0
    assert saved.note == FROM_SOIL


@pytest.mark.parametrize(("until", "note"), [(date(2026, 7, 12), WENT_SHORT), (None, "")])
def test_a_shortage_is_said_where_there_is_one(tmp_path: Path, until: date | None, note: str) -> None:
    """Twenty days without are more than twice what the soil holds; with the program on nothing is wanting."""
    short, saved = saved_in_july(tmp_path, until)
    assert bool(short) == (note == WENT_SHORT)
    assert saved.note == note
