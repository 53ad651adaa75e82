"""Water shut by a shutdown list that nobody finished: nobody asks why nothing ran."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from core.book.kinds import ChecklistStep, Controller, Home, Pause, Program, Supply, Zone
from core.book.store import Book
from core.review import see
from core.review.as_set import paused_on

DENVER = ZoneInfo("America/Denver")
SHUT = date(2026, 10, 12)


def step(season: str, code: str, day: date, subject: str = "main", state: str = "done") -> ChecklistStep:
    return ChecklistStep.model_validate(
        {"season": season, "year": 2026 if season == "shutdown" else 2027, "step": code, "subject": subject,
         "state": state, "day": day, "why": "no time" if state == "skipped" else ""}
    )  # fmt: skip


def watered(path: Path, *more: ChecklistStep | Pause) -> Book:
    """Two zones on two supplies of their own, each watered every morning."""
    book = Book.create(path / "garden.rillbook", Home(name="Alder house", latitude=40.0, timezone="America/Denver"))
    with book.change("began") as change:
        change.add(Controller(code="timer", name="Timer"))
        for supply, zone in (("main", "beds"), ("well", "tubs")):
            change.add(Supply(code=supply, name=supply))
            change.add(Zone(code=zone, name=zone, supply=supply, controller="timer"))
            change.add(
                Program(
                    zone=zone,
                    label="a",
                    since=date(2026, 5, 1),
                    days="daily",
                    starts="05:00",
                    minutes="30",
                    percent=100,
                )
            )
        for record in more:
            change.add(record)
    return book


def expected_runs(book: Book, until: date, zone: str = "beds") -> list[date]:
    """Days in October on which a run is expected."""
    picture = see(book, datetime(until.year, until.month, until.day, 20, tzinfo=DENVER))
    runs = picture.runs[(picture.runs["zone"] == zone) & (picture.runs["day"] >= "2026-10-01")]
    return [d.date() for d in pd.to_datetime(runs["day"])]


BOTH = (step("shutdown", "close-supply", SHUT), step("shutdown", "close-supply", SHUT, "well"))


def test_no_run_is_expected_once_all_water_is_shut(tmp_path: Path) -> None:
    assert max(expected_runs(watered(tmp_path, *BOTH), date(2026, 10, 25))) == date(2026, 10, 11)


def test_it_is_paused_for_winter_not_missed(tmp_path: Path) -> None:
    picture = see(watered(tmp_path, *BOTH), datetime(2026, 10, 25, 20, tzinfo=DENVER))
    after = picture.zone_days[picture.zone_days["day"] >= pd.Timestamp(SHUT)]
    assert set(after["state"]) == {"paused"}


def test_nothing_is_set_to_run_in_the_days_to_come_either(tmp_path: Path) -> None:
    picture = see(watered(tmp_path, *BOTH), datetime(2026, 10, 25, 20, tzinfo=DENVER))
    days = np.datetime64("2026-10-26") + np.arange(7)
    assert paused_on(picture, "beds", days).all()


@pytest.mark.parametrize(
    "steps",
    [
        (step("shutdown", "close-supply", SHUT),),  # the well still runs
        (step("shutdown", "wrap", SHUT, ""),),
        (BOTH[0], step("shutdown", "close-supply", SHUT, "well", "skipped")),
    ],
)
def test_while_some_water_is_on_runs_are_expected(tmp_path: Path, steps: tuple[ChecklistStep, ...]) -> None:
    assert max(expected_runs(watered(tmp_path, *steps), date(2026, 10, 25))) == date(2026, 10, 25)


def test_before_the_day_nothing_is_known_of_it(tmp_path: Path) -> None:
    assert max(expected_runs(watered(tmp_path, *BOTH), date(2026, 10, 11))) == date(2026, 10, 11)


def test_a_start_up_that_opens_the_water_ends_it(tmp_path: Path) -> None:
    book = watered(tmp_path, *BOTH, step("startup", "open-slowly", date(2027, 4, 18)))
    days = [d for d in expected_runs(book, date(2027, 4, 20)) if d >= SHUT]
    assert days == [date(2027, 4, 18), date(2027, 4, 19), date(2027, 4, 20)]


def test_a_shutdown_that_was_finished_is_taken_as_written(tmp_path: Path) -> None:
    """Finished with the 13th as its first day without water."""
    winter = Pause(scope="all", since=date(2026, 10, 13), reason="winter")
    assert max(expected_runs(watered(tmp_path, *BOTH, winter), date(2026, 10, 25))) == date(2026, 10, 12)
