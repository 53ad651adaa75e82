"""The watch tells once: what is new, what got worse, what a repair did not mend; nothing twice, nothing settled."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.accounts.findings import CONTRADICTS, Finding
from core.book.kinds import Decision, Measured, MeterReading, Told
from core.book.store import Book
from core.days import Moment
from core.figures import Figure
from core.review.decide import decide
from core.review.tellings import NO_LONGER, told_of
from core.review.watch import look, tell, why_tell
from core.review.watch_words import as_data, sentence
from tests.core.review.watched import NOW, T0, finding, renamed, told, verdict
from tests.leaky import DAY, LEAK, leaky_book

GALLON_L = 3.785411784  # NIST Handbook 44


def why(f: Finding, *tellings: Told, decided: Decision | None = None, zone: str = "America/Denver") -> str | None:
    return why_tell(f, tellings, decided, NOW, ZoneInfo(zone))


# Whether to tell


def test_a_finding_is_told_once() -> None:
    assert why(finding()) == "new"
    assert why(finding(), told()) is None


@given(shift=st.floats(-20, 3.9), grown=st.floats(0.51, 1.99))
def test_dates_and_amounts_that_shift_do_not_tell_twice(shift: float, grown: float) -> None:
    """As readings arrive the start of a leak that goes on is put earlier or later, its rate a little up or down."""
    moved = finding(since=T0 + shift * DAY, rate_lph=12 * grown, volume=Figure(9000.0, "volume"))
    assert why(moved, told()) is None


def test_a_leak_that_began_after_the_telling_is_new() -> None:
    assert why(finding(since=T0 + 5 * DAY), told()) == "new"
    assert why(finding(since=T0 + 300 * DAY), told(), decided=None) == "new"


def test_another_kind_meter_or_zone_is_new() -> None:
    assert why(finding(kind="one_off"), told()) == "new"
    assert why(finding(meter="well"), told()) == "new"
    zoned = told(finding="stuck_open", zone="hedge")
    assert why(finding(kind="stuck_open", zone="tubs", group=("tubs",)), zoned) == "new"
    assert why(finding(kind="stuck_open", zone="tubs", group=("tubs", "hedge")), zoned) is None


def test_what_was_told_as_its_rival_is_not_new() -> None:
    assert why(renamed(), told()) is None
    assert why(renamed(rivals=()), told()) == "new"
    assert why(renamed(since=T0 + 3 * DAY), told()) == "new", "most of what was told was before it"
    assert why(renamed(until=T0 + 5 * DAY, volume=Figure(1440.0, "volume")), told()) is None


def test_under_another_name_it_is_worse_by_the_day() -> None:
    """Told at 288 L a day; ten days later 2880 L are as much a day, 6000 L are twice as much."""
    assert why(renamed(volume=Figure(5700.0, "volume")), told()) is None
    assert why(renamed(volume=Figure(5800.0, "volume")), told()) == "worse"


def test_surer_or_much_larger_is_told_again_and_once() -> None:
    strong = finding(strength="strong", score=8.0)
    assert why(strong, told()) == "worse"
    assert why(strong, told(), told(strength="strong", told_at=Moment(T0 + 6 * DAY, -360))) is None
    twice = finding(rate_lph=24.5)
    assert why(twice, told()) == "worse"
    assert why(twice, told(), told(rate=Measured("24.5", "lph", "flow"), told_at=Moment(T0 + 6 * DAY, -360))) is None
    assert why(finding(strength="weak", score=3.0), told()) is None


def test_what_lasts_is_not_worse_because_it_lasted_longer() -> None:
    assert why(finding(volume=Figure(40_000.0, "volume")), told()) is None


def test_a_one_off_counts_by_how_much() -> None:
    span = {"kind": "one_off", "until": T0 + DAY}
    was = told(finding="one_off", until=Moment(T0 + DAY, -360), volume=Measured("900", "l", "volume"))
    assert why(finding(**span, volume=Figure(950.0, "volume"), rate_lph=400.0), was) is None, "found to the hour now"
    assert why(finding(**span, volume=Figure(1900.0, "volume")), was) == "worse"
    following = finding(kind="one_off", since=T0 + DAY, until=T0 + 2 * DAY)
    assert why(following, was) == "new", "the next day's is another"


@pytest.mark.parametrize("settled", ["explained", "harmless", "repaired"])
def test_what_is_settled_is_not_told(settled: str) -> None:
    done = finding(
        decision=settled, after="The meter confirms the repair: nothing of it." if settled == "repaired" else ""
    )
    assert why(done, decided=verdict(settled, T0 + 5 * DAY)) is None
    assert why(done, told(), decided=verdict(settled, T0 + 5 * DAY)) is None


def test_a_repair_that_the_meter_contradicts_is_told_once_for_each_repair() -> None:
    against = finding(decision="repaired", after=f"{CONTRADICTS}: it still shows this.")
    first = verdict("repaired", T0 + 5 * DAY)
    assert why(against, told(), decided=first) == "contradicted"
    again = told(told_at=Moment(T0 + 7 * DAY, -360), why="contradicted")
    assert why(against, told(), again, decided=first) is None
    assert why(against, told(), again, decided=verdict("repaired", T0 + 8 * DAY)) == "contradicted"


@pytest.mark.parametrize(("days", "expected"), [(60, None), (30, "new")])
def test_what_was_over_long_before_the_last_telling_is_no_news(days: int, expected: str | None) -> None:
    """The watch spoke of another meter on 20 July; a finding that ended 60 days before that is old days read anew."""
    spoke = told(told_at=Moment(T0 + 7 * DAY, -360), meter="well")
    old = finding(since=T0 - (days + 10) * DAY, until=T0 + (7 - days) * DAY)
    assert why(old, spoke) == expected
    assert why(old) == "new", "a watch that has told nothing yet tells all"
    assert why(old, spoke, decided=verdict("ask_again", T0 + 7 * DAY)) == "new"


def test_a_contradicted_repair_that_got_worse_is_told_as_contradicted() -> None:
    """Fair when it was told after the repair, strong now."""
    against = finding(decision="repaired", after=f"{CONTRADICTS}: it still shows this.", strength="strong", score=8.0)
    again = told(told_at=Moment(T0 + 7 * DAY, -360), why="contradicted")
    assert why(against, told(), again, decided=verdict("repaired", T0 + 5 * DAY)) == "contradicted"


def test_a_later_leak_of_the_kind_does_not_bring_back_the_one_that_was_mended() -> None:
    """Mended on 19 July, its last reading on the 20th; the account speaks against it because of another leak."""
    mended = finding(decision="repaired", until=T0 + 6 * DAY, after=f"{CONTRADICTS}: it still shows this.")
    assert why(mended, told(), decided=verdict("repaired", T0 + 5 * DAY)) is None
    went_on = finding(decision="repaired", until=T0 + 9 * DAY, after=f"{CONTRADICTS}: it still shows this.")
    assert why(went_on, told(), decided=verdict("repaired", T0 + 5 * DAY)) == "contradicted"


@pytest.mark.parametrize(
    ("zone", "until", "told_again"),
    [
        ("Australia/Sydney", "2026-07-12T05:00", "contradicted"),  # the evening of the 11th by UTC
        ("Australia/Sydney", "2026-07-11T20:00", None),
        ("America/Denver", "2026-07-12T05:00", "contradicted"),
        ("America/Denver", "2026-07-11T20:00", None),  # the 12th by UTC
    ],
)
def test_past_the_day_after_a_repair_is_by_the_clock_of_the_home(zone: str, until: str, told_again: str | None) -> None:
    local = ZoneInfo(zone)
    ended = datetime.fromisoformat(until).replace(tzinfo=local).astimezone(UTC)
    leak = finding(
        since=datetime(2026, 7, 3, 7, tzinfo=UTC),
        until=ended,
        decision="repaired",
        after=f"{CONTRADICTS}: it still shows this.",
    )
    repair = verdict("repaired", datetime(2026, 7, 10, 12, tzinfo=local))
    assert why(leak, decided=repair, zone=zone) == told_again


def test_asked_again_is_told_again_once() -> None:
    asked = verdict("ask_again", T0 + 6 * DAY)
    assert why(finding(), told(), decided=asked) == "asked"
    assert why(finding(), told(), told(told_at=Moment(T0 + 7 * DAY, -360)), decided=asked) is None
    assert why(finding(), decided=asked) == "new", "never told before"


MINUTES = st.integers(-40_000, 40_000)
SPAN = st.none() | st.integers(0, 40_000)


@given(since=MINUTES, lasted=SPAN, told_since=st.integers(-40_000, 0), told_lasted=SPAN)
def test_a_telling_matches_only_what_it_touched(
    since: int, lasted: int | None, told_since: int, told_lasted: int | None
) -> None:
    """Minutes from T0; what still went on is known to its telling, four days on, or to now."""
    begun, was_begun = T0 + timedelta(minutes=since), T0 + timedelta(minutes=told_since)
    ended = None if lasted is None else begun + timedelta(minutes=lasted)
    was_ended = None if told_lasted is None else was_begun + timedelta(minutes=told_lasted)
    was = told(since=Moment(was_begun, 0), until=Moment(was_ended, 0) if was_ended else None)
    apart = begun > (was_ended or T0 + 4 * DAY) or (ended or max(NOW, begun)) < was_begun
    matched = told_of(was, finding(since=begun, until=ended), NOW)
    assert not (matched and apart)
    inside = was_begun <= begun < (ended or NOW) <= (was_ended or T0 + 4 * DAY)
    assert matched or not inside


# A book


@pytest.fixture
def leaky(tmp_path: Path) -> Book:
    return leaky_book(tmp_path / "leaky.rillbook")


def heard(book: Book, at: datetime, **options: bool) -> list[tuple[str, str]]:
    said: list[tuple[str, str]] = []
    tell(
        book,
        look(book, at, **options),
        lambda news, gone: said.extend(
            [*((n.why, n.finding.kind) for n in news), *((NO_LONGER, g.telling.finding) for g in gone)]
        ),
    )
    return said


def test_a_quiet_book_is_left_alone(leaky: Book) -> None:
    number, before = leaky.number(), leaky.path.read_bytes()
    assert heard(leaky, LEAK - DAY) == []
    assert (leaky.number(), leaky.path.read_bytes()) == (number, before)


def test_a_leak_is_told_once_and_remembered(leaky: Book) -> None:
    at = LEAK + 5 * DAY
    assert heard(leaky, at) == [("new", "steady")]
    (record,) = (s.record for s in leaky.records(Told))
    assert (record.finding, record.meter, record.why, record.told_at.utc) == ("steady", "curb", "new", at)
    assert abs(record.since.utc - LEAK) <= DAY
    assert record.rate is not None
    assert record.rate.base == pytest.approx(10 * GALLON_L, rel=0.1)
    number = leaky.number()
    assert heard(leaky, at) == heard(leaky, at + 2 * DAY) == heard(leaky, at + 5 * DAY) == []
    assert leaky.number() == number


def test_looking_does_not_remember(leaky: Book) -> None:
    number = leaky.number()
    assert [n.finding.kind for n in look(leaky, LEAK + 5 * DAY).news] == ["steady"]
    assert leaky.number() == number


def test_what_could_not_be_handed_over_is_told_again(leaky: Book) -> None:
    def gone(*_: object) -> None:
        raise BrokenPipeError

    with pytest.raises(BrokenPipeError):
        tell(leaky, look(leaky, LEAK + 5 * DAY), gone)
    assert leaky.records(Told) == []
    assert heard(leaky, LEAK + 5 * DAY) == [("new", "steady")]


def test_two_that_looked_at_the_same_time_tell_once(leaky: Book) -> None:
    one, other = look(leaky, LEAK + 5 * DAY), look(leaky, LEAK + 5 * DAY)
    said: list[object] = []
    assert len(tell(leaky, one, lambda news, _: said.append(news))) == 1
    assert tell(leaky, other, lambda news, _: said.append(news)) == ()
    assert len(said) == 1


def test_a_telling_taken_back_is_told_again(leaky: Book) -> None:
    heard(leaky, LEAK + 5 * DAY)
    leaky.undo(leaky.number())
    assert heard(leaky, LEAK + 5 * DAY) == [("new", "steady")]


def test_as_of_an_earlier_day_later_tellings_do_not_count(leaky: Book) -> None:
    heard(leaky, LEAK + 9 * DAY)
    assert heard(leaky, LEAK + 5 * DAY) == [("new", "steady")]


def test_a_settled_leak_is_silent_and_a_false_repair_is_told(leaky: Book) -> None:
    at = LEAK + 4 * DAY
    (news,) = look(leaky, at).news
    decide(leaky, news.finding, "harmless", Moment(at, -360))
    assert heard(leaky, at + DAY) == []
    decide(leaky, news.finding, "repaired", Moment(at + DAY, -360), (at + DAY).date())
    assert heard(leaky, at + DAY) == [], "no reading since the repair yet"
    assert heard(leaky, at + 5 * DAY) == [("contradicted", "steady")]
    assert heard(leaky, at + 5 * DAY) == []


def test_a_telling_that_a_reading_put_right_takes_away_is_said_once(leaky: Book) -> None:
    """The register of the newest day was read 4,000 gal too high; it is put right two days later."""
    reading = leaky.records(MeterReading)[30]
    at = reading.record.at.utc + timedelta(hours=1)
    with leaky.change("a slip") as change:
        high = reading.record.model_copy(update={"register_value": reading.record.register_value + 4000})
        change.correct(reading.id, high)
    [(why_told, kind)] = heard(leaky, at)
    assert why_told == "new"
    with leaky.change("put right") as change:
        change.correct(reading.id, reading.record)
    assert heard(leaky, at + 2 * DAY) == [(NO_LONGER, kind)]
    assert heard(leaky, at + 3 * DAY) == []
    (said,) = [s.record for s in leaky.records(Told) if s.record.why == NO_LONGER]
    assert said.told_at.utc == at + 2 * DAY


def test_a_finding_for_a_script_and_in_a_sentence(leaky: Book) -> None:
    watch = look(leaky, LEAK + 5 * DAY)
    (news,) = watch.news
    data = as_data(news, watch.picture)
    assert set(data) >= {
        "kind", "meter", "zone", "group", "since", "until", "rate_lph", "volume_l", "cost", "strength", "rivals",
    }  # fmt: skip
    assert (data["kind"], data["meter"], data["zone"], data["until"]) == ("steady", "curb", None, None)
    assert data["volume_l"] == pytest.approx(5 * 240 * GALLON_L, rel=0.15)
    assert data["cost"] == pytest.approx(5 * 0.240 * 5, rel=0.15), "1,200 gal at 5 dollars a thousand"
    assert datetime.fromisoformat(data["since"]).tzinfo is not None
    said = sentence(news, watch.picture)
    assert said.startswith("It looks like water that runs all the time, since 2")
    assert "July 2026" in said
    assert "(strong evidence)" in said
    worse = replace(news, why="worse")
    assert sentence(worse, watch.picture).startswith("Worse than told before: it looks like")
