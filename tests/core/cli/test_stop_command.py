"""Pausing zones and switching them off on the command line: the same records that the screen writes."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from click.testing import Result

from core.book.kinds import Pause, Program
from core.book.store import Book
from tests.core.review.gardens import begin, program, zone

Run = Callable[..., Result]


@pytest.fixture
def yard(tmp_path: Path) -> Book:
    return begin(tmp_path, zone(), zone("pots"), program(), program("pots", days="daily"))


def pauses(book: Book) -> list[tuple[str, date, date | None, str]]:
    return [(p.scope, p.since, p.until, p.reason) for p in (s.record for s in book.records(Pause))]


def test_all_zones_are_paused_until_a_day_and_that_is_taken_back(run: Run, yard: Book) -> None:
    told = run("stop", yard.path, "--from", "2026-07-15", "--until", "2026-08-01", "--why", "rain")
    assert told.exit_code == 0, told.output
    assert "Bed paused from 15 July 2026, on again on 1 August 2026." in told.stdout
    number = yard.number()
    assert f"rillbook undo {yard.path} {number}" in told.stdout
    assert pauses(yard) == [(z, date(2026, 7, 15), date(2026, 8, 1), "rain") for z in ("bed", "pots")]
    assert run("undo", yard.path, number).exit_code == 0
    assert pauses(yard) == []


def test_one_zone_is_switched_off(run: Run, yard: Book) -> None:
    data = json.loads(run("stop", yard.path, "--zone", "bed", "--off", "--from", "2026-07-15", "--json").stdout)
    assert (data["stored"], data["from"], [w["verb"] for w in data["writes"]]) == (True, "2026-07-15", ["end"])
    ends = {s.record.zone: s.record.until for s in yard.records(Program)}
    assert ends == {"bed": date(2026, 7, 15), "pots": None}


def test_a_dry_run_writes_nothing(run: Run, yard: Book) -> None:
    before = yard.number()
    told = run("stop", yard.path, "--from", "2026-07-15", "--dry-run")
    assert told.stdout.startswith(
        "This would be written:\n- Bed paused from 15 July 2026 until you switch it on again."
    )
    assert yard.number() == before


def test_without_a_day_it_takes_back_no_run_that_has_begun(
    run: Run, yard: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pots water every day; the book is asked at the last minute of 14 July, when that day's run is over."""
    late = datetime(2026, 7, 14, 23, 59, tzinfo=ZoneInfo("America/Denver"))
    monkeypatch.setattr("core.cli.stopping.present", lambda _zone: late)
    run("stop", yard.path, "--zone", "pots")
    assert [since for _, since, _, _ in pauses(yard)] == [date(2026, 7, 15)]


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("--zone", "lawn", "--from", "2026-07-15"), 1, "“lawn” has no program on 2026-07-15. Expected one of bed"),
        (("--from", "2020-07-15"), 1, "No zone has a program on 2020-07-15"),
        (("--from", "2026-07-15", "--until", "2026-07-15"), 1, "must come after the first day off"),
        (("--off", "--until", "2026-08-01"), 2, "--until goes with a pause"),
        (("--why", "bored"), 2, "bored"),
        (("--on-again", "2026-07-15"), 1, "Nothing is paused on 2026-07-15"),
        (("--on-again", "2026-07-15", "--zone", "lawn"), 1, "“lawn” is no zone. Expected one of bed"),
        (("--on-again", "2026-07-15", "--off"), 2, "--on-again stands by itself or with --zone"),
    ],
)
def test_refused_in_one_line(run: Run, yard: Book, words: tuple[str, ...], code: int, said: str) -> None:
    before = yard.number()
    result = run("stop", yard.path, *words)
    assert (result.exit_code, yard.number()) == (code, before)
    assert said in result.stderr


def test_a_winter_pause_is_ended(run: Run, yard: Book) -> None:
    """A shutdown written down in autumn; whoever opened the water in spring says so in one line."""
    with yard.change("shut") as change:
        change.add(Pause(scope="all", since=date(2026, 10, 28), reason="winter"))
    told = run("stop", yard.path, "--on-again", "2027-04-20")
    assert told.exit_code == 0, told.output
    assert "Everything on again on 20 April 2027; paused since 28 October 2026 for winter." in told.stdout
    assert pauses(yard) == [("all", date(2026, 10, 28), date(2027, 4, 20), "winter")]
    assert f"rillbook undo {yard.path} {yard.number()}" in told.stdout
