"""Decisions as records: whose days they hold for, a use logged in one step, one undo for all of it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from core.accounts.findings import SOMETHING_ELSE, Cause, Finding, Rival
from core.book.kinds import Decision, Measured, OtherUse, Told
from core.book.store import Book
from core.days import Moment, parse_moment
from core.errors import EntryError
from core.figures import Figure
from core.review import see
from core.review.causes import decided_words, may_be
from core.review.decide import decide, decision_of, let_be, log_as_use, log_as_uses
from core.review.odd_uses import apart, question
from core.review.watch import look
from tests.leaky import DAY, FIRST, LEAK, leaky_book

SAID = Moment(LEAK + 5 * DAY, -360)


def one_off(**over: object) -> Finding:
    values: dict[str, object] = {
        "kind": "one_off",
        "meter": "curb",
        "zone": None,
        "group": (),
        "since": LEAK,
        "until": LEAK + DAY,
        "rate_lph": 150.0,
        "volume": Figure(3600.0, "volume"),
        "strength": "strong",
        "score": 9.0,
    }
    return Finding(**(values | over))  # type: ignore[arg-type]


def gallons(much: str) -> Measured:
    return Measured(much, "gal", "volume")


@pytest.fixture
def leaky(tmp_path: Path) -> Book:
    return leaky_book(tmp_path / "leaky.rillbook")


def test_a_one_off_becomes_logged_use_and_one_undo_takes_both_back(leaky: Book) -> None:
    number = log_as_use(leaky, one_off(), " filled the pond ", gallons("950"), SAID)
    assert number is not None
    use, decision = leaky.records(OtherUse)[0].record, leaky.records(Decision)[0].record
    assert (use.what, use.volume.typed, use.meter, use.zone) == ("filled the pond", "950", "curb", None)
    assert (use.start.utc, use.end and use.end.utc) == (LEAK, LEAK + DAY)
    assert (decision.finding, decision.verdict, decision.note) == ("one_off", "explained", "filled the pond")
    leaky.undo(number)
    assert (leaky.records(OtherUse), leaky.records(Decision)) == ([], [])


def test_two_uses_of_one_time_and_one_said_twice_with_other_words(leaky: Book) -> None:
    log_as_use(leaky, one_off(), "pond", gallons("500"), SAID)
    log_as_use(leaky, one_off(), "car", gallons("450"), Moment(SAID.utc + timedelta(minutes=1), -360))
    assert [(s.record.what, s.record.nth) for s in leaky.records(OtherUse)] == [("pond", 1), ("car", 2)]


@pytest.mark.parametrize(("what", "much", "said"), [(" ", "10", "what it was for"), ("pond", "0", "more than 0")])
def test_a_use_without_words_or_water_is_refused(leaky: Book, what: str, much: str, said: str) -> None:
    number = leaky.number()
    with pytest.raises(EntryError, match=said):
        log_as_use(leaky, one_off(), what, gallons(much), SAID)
    assert leaky.number() == number


def test_a_logged_one_off_is_explained_in_the_account(leaky: Book) -> None:
    """On 21 July, a day after the leak began, the account calls it a one-off; logged, nothing is left to find."""
    at = LEAK + DAY
    (news,) = look(leaky, at).news
    assert news.finding.kind == "one_off"
    log_as_use(leaky, news.finding, "filled the pond", gallons("240"), Moment(at, -360))
    assert [f for f in see(leaky, at).accounts["curb"].findings if not f.decision] == []


def test_several_uses_are_settled_in_one_step_and_one_undo_takes_all_back(leaky: Book) -> None:
    litres = Figure(378.5411784, "volume")  # 100 US gallons (NIST Handbook 44)
    uses = [one_off(volume=litres), one_off(since=LEAK - 3 * DAY, until=LEAK - 2 * DAY, volume=litres)]
    number = log_as_uses(leaky, uses, "washing", SAID)
    assert number is not None
    assert [s.record.volume.typed for s in leaky.records(OtherUse)] == ["100", "100"]
    assert [s.record.verdict for s in leaky.records(Decision)] == ["explained", "explained"]
    leaky.undo(number)
    assert (leaky.records(OtherUse), leaky.records(Decision)) == ([], [])
    let_be(leaky, uses, SAID)
    assert [s.record.verdict for s in leaky.records(Decision)] == ["harmless", "harmless"]
    assert not leaky.records(OtherUse)


def test_uses_come_after_what_may_be_broken_and_in_their_order() -> None:
    early, late = one_off(since=LEAK - 3 * DAY, until=LEAK - 2 * DAY), one_off(score=20.0)
    leak, running = one_off(kind="steady", strength="weak", until=None), one_off(until=None)
    assert apart([late, leak, early, running]) == ([leak, running], [early, late])


def test_a_use_that_may_as_well_have_been_a_valve_is_no_question_about_filling() -> None:
    valve, misread = Rival("stuck_open", "beds", ("beds", "hedge"), ""), Rival("misread", None, (), "")
    dead = Rival("not_delivered", "beds", ("beds",), "")
    of_a_month, wrong, of_a_day = one_off(rivals=(valve,)), one_off(rivals=(misread,)), one_off(rivals=(dead,))
    assert apart([of_a_day, of_a_month, wrong]) == ([of_a_month, wrong], [of_a_day])


def test_several_uses_are_one_question() -> None:
    assert question([("on 3 July", "80 gal")]) == (
        "Did you fill or wash something on 3 July? About 80 gal that nobody wrote down."
    )
    assert question([("on 3 July", "80 gal"), ("on 9 July", "60 gal")]) == (
        "Did you fill or wash something? 2 times water passed that nobody wrote down: about 80 gal on 3 July and "
        "about 60 gal on 9 July."
    )


def test_a_repair_needs_a_day_between_beginning_and_today() -> None:
    zone = ZoneInfo("America/Denver")
    leak = one_off(kind="steady", until=None)
    with pytest.raises(EntryError, match="On which day"):
        decision_of(leak, "repaired", zone, SAID)
    for day in (date(2026, 7, 20), date(2026, 7, 27)):
        with pytest.raises(EntryError, match="is not between 2026-07-21"):
            decision_of(leak, "repaired", zone, SAID, day)
    assert decision_of(leak, "repaired", zone, SAID, date(2026, 7, 24)).repaired_on == date(2026, 7, 24)


def test_what_goes_on_is_decided_up_to_today_so_that_the_next_leak_is_its_own(leaky: Book) -> None:
    at = LEAK + 5 * DAY
    (news,) = look(leaky, at).news
    decide(leaky, news.finding, "harmless", Moment(at, -360), note="the pond's filler")
    decision = leaky.records(Decision)[0].record
    assert (decision.until, decision.note) == (at.date(), "the pond's filler")
    (now,) = [f for f in see(leaky, LEAK + 9 * DAY).accounts["curb"].findings if f.kind == "steady"]
    assert now.decision == "harmless", "it sticks while the leak goes on"


def test_every_verdict_is_a_record_and_ask_again_opens_it(leaky: Book) -> None:
    at = LEAK + 5 * DAY
    (news,) = look(leaky, at).news
    decide(leaky, news.finding, "explained", Moment(at, -360))
    assert look(leaky, at + DAY).news == ()
    decide(leaky, news.finding, "ask_again", Moment(at + DAY, -360))
    assert [n.finding.kind for n in look(leaky, at + 2 * DAY).news] == ["steady"]
    assert [s.record.verdict for s in leaky.records(Decision)] == ["explained", "ask_again"]


def test_a_second_thought_within_the_minute_takes_the_place_of_the_first_and_undo_brings_that_back(leaky: Book) -> None:
    def verdicts() -> list[tuple[str, str]]:
        return [(s.record.verdict, s.record.note) for s in leaky.records(Decision)]

    leak = one_off(kind="steady", until=None)
    decide(leaky, leak, "explained", SAID, note="the toilet")
    second = decide(leaky, leak, "harmless", SAID)
    assert second is not None
    assert verdicts() == [("harmless", "the toilet")], "a person's own words are not lost"
    leaky.undo(second)
    assert verdicts() == [("explained", "the toilet")]
    decide(leaky, leak, "ask_again", SAID)
    third = decide(leaky, leak, "repaired", SAID, date(2026, 7, 24))
    assert verdicts() == [("repaired", "")]
    assert third is not None
    leaky.undo(third)
    assert verdicts() == [("ask_again", "")]


def test_a_use_is_logged_within_the_minute_of_another_verdict(leaky: Book) -> None:
    decide(leaky, one_off(), "harmless", SAID)
    number = log_as_use(leaky, one_off(), "pond", gallons("950"), SAID)
    assert number is not None
    assert [(s.record.verdict, s.record.note) for s in leaky.records(Decision)] == [("explained", "pond")]
    leaky.undo(number)
    assert [s.record.verdict for s in leaky.records(Decision)] == ["harmless"]
    assert not leaky.records(OtherUse)
    let_be(leaky, [one_off()], SAID)
    assert [s.record.verdict for s in leaky.records(Decision)] == ["harmless"]


def test_a_cause_is_one_of_what_it_may_have_been_or_something_else(leaky: Book) -> None:
    names = {"beds": "Beds", "hedge": "Hedge"}
    line = Rival("more_than_set", "beds", ("beds", "hedge"), "")
    dead = Rival("not_delivered", None, ("beds", "hedge"), "")
    leak = one_off(kind="steady", until=None, rivals=(line, dead))
    assert may_be(leak, names) == {
        Cause("steady"): "water that runs all the time",
        Cause("more_than_set", "beds"): "a line off or broken at Beds",
        Cause("more_than_set", "hedge"): "a line off or broken at Hedge",
        Cause("not_delivered"): "runs that brought no water at Beds and Hedge",
        Cause(SOMETHING_ELSE): "something else",
    }
    with pytest.raises(EntryError, match="in your own words"):
        decide(leaky, leak, "explained", SAID, cause=Cause(SOMETHING_ELSE))
    assert not leaky.records(Decision)


def test_what_was_decided_is_told_with_its_cause_its_day_and_the_note() -> None:
    names = {"beds": "Beds"}
    found = one_off(decision="explained", cause=Cause("more_than_set", "beds"), note="loose")
    assert decided_words(found, names) == ("You decided: cause found: a line off or broken at Beds. Your note: loose.")
    mended = one_off(
        decision="repaired", cause=Cause("more_than_set", "beds"), note="Loose!", repaired_on=date(2026, 7, 24)
    )
    assert decided_words(mended, names) == (
        "You decided: repaired on 24 July 2026. The cause you found: a line off or broken at Beds. Your note: Loose!"
    )
    assert decided_words(one_off(), names) == ""


def test_a_repair_within_the_minute_of_the_cause_keeps_its_words(leaky: Book) -> None:
    leak = one_off(kind="steady", until=None)
    decide(leaky, leak, "explained", SAID, note="loose line", cause=Cause("steady"))
    decide(leaky, leak, "repaired", SAID, date(2026, 7, 24))
    (record,) = (s.record for s in leaky.records(Decision))
    assert (record.verdict, record.note, record.cause) == ("repaired", "loose line", "steady")


def moment(text: str) -> Moment:
    return parse_moment(text, ZoneInfo("America/Denver"))


@pytest.mark.parametrize(
    ("start", "end"),
    [("2026-07-22 15:00", None), ("2026-07-22", None), ("2026-07-21 07:00", None), ("2026-07-21 05:00", None)],
)
def test_a_use_between_readings_far_apart_is_logged_when_the_person_says(
    leaky: Book, start: str, end: str | None
) -> None:
    """Read on the 21st at 7 and on the 24th at 7: it was some time between; how long it took nobody says."""
    log_as_use(leaky, one_off(until=LEAK + 3 * DAY), "pool", gallons("300"), SAID, start=moment(start))
    use = leaky.records(OtherUse)[0].record
    assert (use.start, use.end) == (moment(start), end)


def test_a_use_known_to_the_hour_keeps_its_end(leaky: Book) -> None:
    found = one_off(until=LEAK + timedelta(hours=4))
    log_as_use(leaky, found, "pool", gallons("300"), SAID, start=moment("2026-07-21 08:30"))
    use = leaky.records(OtherUse)[0].record
    assert (use.start, use.end and use.end.utc) == (moment("2026-07-21 08:30"), LEAK + timedelta(hours=4))


@pytest.mark.parametrize("start", ["2026-07-20", "2026-07-20 15:00", "2026-07-24 08:00", "2026-07-25"])
def test_a_use_of_a_time_at_which_the_meter_shows_nothing_is_refused(leaky: Book, start: str) -> None:
    with pytest.raises(EntryError, match="between 2026-07-21 07:00 and 2026-07-24 07:00"):
        log_as_use(leaky, one_off(until=LEAK + 3 * DAY), "pool", gallons("300"), SAID, start=moment(start))
    assert not leaky.records(OtherUse)


def test_the_fixture_is_what_it_says(leaky: Book) -> None:
    frame = leaky.frame("meter_reading")
    steps = frame.sort_values("at")["register_value"].diff().dropna()
    assert steps.iloc[:50].between(120, 150).all()
    assert steps.iloc[50:].between(360, 390).all()
    assert (len(frame), leaky.records(Told)) == (61, [])
    assert datetime(2026, 6, 1, 13, tzinfo=UTC) == FIRST
