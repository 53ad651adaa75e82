"""What the watch has told and is found no more: said once, with what its days look like now, unless a person knows."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from core.accounts.findings import Finding
from core.accounts.suspects import Stay
from core.book.kinds import Decision, Measured, OtherUse, Told
from core.book.store import Book
from core.days import Moment
from core.figures import Figure
from core.review.tellings import NO_LONGER, NoLonger, in_force, no_longer
from core.review.watch import look, why_tell
from core.review.watch_words import gone_sentence
from tests.core.review.watched import NOW, T0, finding, renamed, told, verdict
from tests.leaky import DAY, leaky_book


@pytest.fixture
def leaky(tmp_path: Path) -> Book:
    return leaky_book(tmp_path / "leaky.rillbook")


def gone(
    *tellings: Told,
    found: tuple[Finding, ...] = (),
    stays: tuple[Stay, ...] = (),
    at: datetime = NOW,
    decided: tuple[Decision, ...] = (),
    uses: tuple[OtherUse, ...] = (),
) -> list[tuple[str, object]]:
    left = no_longer(tellings, found, {"curb": stays}, decided, uses, at)
    return [(g.telling.finding, g.instead) for g in left]


def test_what_is_found_no_more_is_said_once() -> None:
    assert gone(told()) == [("steady", None)]
    assert gone(told(), found=(finding(strength="weak"),)) == [], "it stands as long as anything of it is found"
    assert gone(told(), found=(renamed(),)) == [], "under the name of a rival too"
    said = told(told_at=Moment(NOW, -360), why=NO_LONGER)
    assert gone(told(), said) == []
    again = told(told_at=Moment(NOW + DAY, -360))
    assert gone(told(), said, again, at=NOW + 2 * DAY) == [("steady", None)]


def test_what_was_told_twice_is_taken_away_in_one_word() -> None:
    worse = told(strength="strong", told_at=Moment(T0 + 6 * DAY, -360), why="worse")
    assert gone(told(), worse) == [("steady", None)]
    assert in_force([told(), worse, told(told_at=Moment(NOW, -360), why=NO_LONGER)]) == []


def test_its_days_are_named_by_what_they_look_like_now() -> None:
    """A line off, which no telling named as a rival; one of other days, or of less water, is not meant."""
    other = renamed(rivals=())
    assert gone(told(), found=(other,)) == [("steady", other)]
    assert gone(told(), found=(renamed(rivals=(), since=T0 - 300 * DAY),)) == [("steady", None)]
    assert gone(told(), found=(renamed(rivals=(), volume=Figure(-2880.0, "volume")),)) == [("steady", None)]
    guests = Stay(T0, T0 + 5 * DAY, 2.0, 1000.0)
    assert gone(told(), stays=(guests,)) == [("steady", guests)]


def test_nothing_is_said_where_a_person_knows_or_nobody_waits() -> None:
    assert gone(told(), decided=(verdict("harmless", T0 + 5 * DAY),)) == []
    assert gone(told(), decided=(verdict("harmless", T0 + 3 * DAY),)) == [("steady", None)], "told since"
    assert gone(told(), at=T0 + 200 * DAY) == []
    filled = OtherUse(start=Moment(T0 + DAY, -360), what="pool", volume=Measured("900", "l", "volume"), meter="curb")
    use = told(finding="one_off", until=Moment(T0 + 2 * DAY, -360))
    assert gone(use) == [("one_off", None)]
    assert gone(use, uses=(filled,)) == []


def test_a_decision_is_of_the_days_of_the_home() -> None:
    """From 20 to 22 o'clock on 30 June in Denver, which is 1 July in UTC."""
    since, until = datetime(2026, 7, 1, 2, tzinfo=UTC), datetime(2026, 7, 1, 4, tzinfo=UTC)
    use = told(finding="one_off", since=Moment(since, -360), until=Moment(until, -360), told_at=Moment(T0, -360))
    fields = {"since": since.date() - DAY, "until": since.date() - DAY}
    assert gone(use) == [("one_off", None)]
    assert gone(use, decided=(verdict("harmless", T0 + DAY).model_copy(update=fields),)) == []


def test_what_no_longer_stands_is_said_with_what_it_looks_like_now(leaky: Book) -> None:
    picture = look(leaky, NOW).picture
    begins = "No longer stands: water that runs all the time, since 14 July 2026, told on 18 July. "
    left = "With what the book holds now "
    gone_out = Stay(T0, None, -1.0, -1000.0, moved_out=True)
    for instead, words in (
        (None, "nothing of it is left that chance would not do."),
        (Stay(T0, NOW, 2.0, 1000.0), "these days look like guests; the month page asks about it."),
        (Stay(T0, NOW, -2.0, -1000.0), "these days look like an empty house; the month page asks about it."),
        (gone_out, "these days look like fewer people at home; the month page asks about it."),
    ):
        assert gone_sentence(NoLonger(told(), instead), picture) == f"{begins}{left}{words}"
    strange = gone_sentence(NoLonger(told(finding="strange"), None), picture)
    assert strange.startswith("No longer stands: strange, since 14 July 2026"), "a sheet may bring any kind"


def test_taking_one_back_leaves_what_was_told_of_later_days() -> None:
    """A leak told on its fourth day is taken back on the tenth, and one from the sixth on is told with it."""
    later, now = finding(since=T0 + 6 * DAY), Moment(NOW, -360)
    tellings = [told(), told(since=Moment(T0 + 6 * DAY, -360), told_at=now), told(told_at=now, why=NO_LONGER)]
    assert [t.since.utc for t in in_force(tellings)] == [T0 + 6 * DAY]
    assert why_tell(later, in_force(tellings), None, NOW + DAY, ZoneInfo("America/Denver")) is None


def test_a_telling_that_no_longer_stands_lets_the_next_be_new() -> None:
    said = told(told_at=Moment(T0 + 6 * DAY, -360), why=NO_LONGER)
    assert why_tell(finding(), in_force([told(), said]), None, NOW, ZoneInfo("America/Denver")) == "new"
