"""The picture tells findings and care with the cautions of its home."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from core.book.kinds import Task
from core.care.cautions import cautions
from core.care.keeping import care_of
from core.review.hunt_words import TABLES_KPA, Hole
from core.review.picture import _told_at, draw
from tests.core.review.gardens import begin, drip, normals, program, shrubs, write, zone
from tests.dashboard.invented import finding

NOW = datetime(2026, 7, 15, 18, tzinfo=UTC)


@pytest.mark.parametrize(("timezone", "there"), [("Europe/Lisbon", False), ("America/Denver", True)])
def test_findings_and_care_say_what_holds_there(tmp_path: Path, timezone: str, there: bool) -> None:
    book = begin(tmp_path, zone(), shrubs(), drip(), program(), *normals(), timezone=timezone)
    write(book, Task(code="dig", name="Dig", every_days=1, caution=cautions("digging")))
    picture = draw(book, NOW)
    assert any("811" in item.caution for item in picture.care) is there
    assert any("811" in item.caution for item in care_of(book, picture.today)) is there
    (meter, account), *_ = picture.accounts.items()
    dug = finding(caution="Before digging have buried lines marked as local rules ask; in the US call 811.")
    told = _told_at(picture.home, {meter: replace(account, findings=(dug,))})
    assert ("811" in told[meter].findings[0].caution) is there


def test_an_assumed_pressure_is_round_and_one_written_down_is_not() -> None:
    """60 psi are 413.7 kPa (NIST SP 811), which nobody has read anywhere in a metric home."""
    hole = Hole(1.0, 1.5, 2.0, TABLES_KPA, True)
    assert hole.pressure_words("metric") == "410 kPa"
    assert hole.pressure_words("us") == "60 psi"
    assert replace(hole, pressure_kpa=414.0, assumed=False).pressure_words("metric") == "414 kPa"
