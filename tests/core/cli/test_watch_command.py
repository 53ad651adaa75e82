"""watch: exit codes, JSON, told once, worse told again, two jobs at once."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import Result

from core.book.kinds import Told
from core.book.store import Book
from core.review import see
from core.review.picture import Picture
from tests.leaky import leaky_book

ROOT = Path(__file__).parents[3]
Run = Callable[..., Result]


@pytest.fixture
def leaky(tmp_path: Path) -> Book:
    return leaky_book(tmp_path / "leaky.rillbook")


def test_nothing_new_says_nothing_and_leaves_the_book_alone(run: Run, leaky: Book) -> None:
    before = leaky.path.read_bytes()
    result = run("watch", leaky.path, "--as-of", "2026-07-20")
    assert (result.exit_code, result.output) == (0, "")
    assert leaky.path.read_bytes() == before


def test_something_new_is_told_once(run: Run, leaky: Book) -> None:
    result = run("watch", leaky.path, "--as-of", "2026-07-28")
    assert result.exit_code == 10
    assert "1 thing new as of 28 July 2026, 23:59, metered through 28 July 2026, 07:00" in " ".join(
        result.output.split()
    )
    assert "It looks like water that runs all the time, since 2" in result.output
    assert "Check first:" in result.output
    assert "Mind:" in result.output
    assert max(map(len, result.output.splitlines())) <= 100
    again = run("watch", leaky.path, "--as-of", "2026-07-30")
    assert (again.exit_code, again.output) == (0, "")


def test_single_uses_are_one_question_after_what_may_be_broken(
    run: Run, leaky: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    def lively(book: Book, as_of: datetime) -> Picture:
        picture = see(book, as_of)
        (account,) = picture.accounts.values()
        (leak,) = account.findings
        first, then = (datetime(2026, 7, day, 13, tzinfo=UTC) for day in (3, 9))
        use = replace(leak, kind="one_off", until=then, since=then - timedelta(days=1), score=50.0)
        uses = (use, replace(use, since=first - timedelta(days=1), until=first))
        return replace(picture, accounts={account.meter: replace(account, findings=(*uses, leak))})

    monkeypatch.setattr("core.review.watch.see", lively)
    result = run("watch", leaky.path, "--as-of", "2026-07-28")
    said = " ".join(result.output.split())
    assert "2 things new" in said
    first = said.index("1. It looks like water that runs all the time")
    assert first < said.index("2. Did you fill or wash something? 2 times water")
    assert said.index("and 3 July 2026") < said.index("and 9 July 2026")
    assert "one large use" not in said
    assert len(leaky.records(Told)) == 3
    assert run("watch", leaky.path, "--as-of", "2026-07-28").exit_code == 0


def test_json_for_a_script(run: Run, leaky: Book) -> None:
    result = run("watch", leaky.path, "--as-of", "2026-07-28", "--json")
    assert result.exit_code == 10
    data = json.loads(result.stdout)
    assert data["as_of"] == "2026-07-29T05:59:59+00:00"
    (found,) = data["findings"]
    kinds = {
        "kind": str,
        "meter": str,
        "zone": (str, type(None)),
        "group": list,
        "since": str,
        "until": (str, type(None)),
        "rate_lph": float,
        "volume_l": float,
        "cost": float,
        "strength": str,
        "rivals": list,
    }
    assert {name: found[name] for name in kinds if not isinstance(found[name], kinds[name])} == {}  # type: ignore[arg-type]
    assert found["kind"] == "steady"
    assert found["rate_lph"] == pytest.approx(240 / 24 * 3.785411784, rel=0.1), "10 gal/h; NIST Handbook 44"
    quiet = run("watch", leaky.path, "--as-of", "2026-07-28", "--json")
    assert quiet.exit_code == 0
    assert json.loads(quiet.stdout)["findings"] == []


def test_looking_tells_every_time(run: Run, leaky: Book) -> None:
    number = leaky.number()
    for _ in range(2):
        assert run("watch", leaky.path, "--as-of", "2026-07-28", "--look").exit_code == 10
    assert leaky.number() == number


def test_worse_is_told_again_once(run: Run, leaky: Book) -> None:
    assert run("watch", leaky.path, "--as-of", "2026-07-25").exit_code == 10
    told = leaky.records(Told)[0]
    assert told.record.strength == "strong"
    with leaky.change("as if it had been fair") as change:
        change.correct(told.id, told.record.model_copy(update={"strength": "fair"}))
    result = run("watch", leaky.path, "--as-of", "2026-07-28")
    assert result.exit_code == 10
    assert result.output.count("Worse than told before:") == 1
    assert run("watch", leaky.path, "--as-of", "2026-07-29").exit_code == 0


def test_weak_findings_only_when_asked(run: Run, leaky: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    def faint(book: Book, as_of: datetime) -> Picture:
        picture = see(book, as_of)
        (account,) = picture.accounts.values()
        weak = tuple(replace(f, strength="weak") for f in account.findings)
        return replace(picture, accounts={account.meter: replace(account, findings=weak)})

    monkeypatch.setattr("core.review.watch.see", faint)
    assert run("watch", leaky.path, "--as-of", "2026-07-28").exit_code == 0
    assert run("watch", leaky.path, "--as-of", "2026-07-28", "--weak").exit_code == 10


def test_errors_are_neither_0_nor_10(run: Run, leaky: Book, tmp_path: Path) -> None:
    assert run("watch", tmp_path / "none.rillbook").exit_code == 1
    assert run("watch", leaky.path, "--as-of", "last week").exit_code == 1
    assert run("watch", leaky.path, "--as-off", "2026-07-28").exit_code == 2
    assert leaky.records(Told) == []


def test_a_book_without_a_reading_is_quiet(run: Run, garden: Book) -> None:
    assert run("watch", garden.path, "--as-of", "2026-07-28").exit_code == 0


def test_two_jobs_at_once_tell_once(leaky: Book) -> None:
    words = [sys.executable, "-m", "core.cli", "watch", str(leaky.path), "--json"]
    jobs = [subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT) for _ in range(2)]
    said = [job.communicate(timeout=120) for job in jobs]
    assert sorted(job.returncode for job in jobs) == [0, 10], said
    assert sorted(len(json.loads(out)["findings"]) for out, _ in said) == [0, 1]
    assert len(leaky.records(Told)) == 1
