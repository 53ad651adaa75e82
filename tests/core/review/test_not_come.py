"""Runs that did not come, written from one time to another in one step: counted by hand, taken back as one."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from core.accounts.findings import Cause, Finding
from core.book.kinds import Decision, Meter, MeterReading, Run
from core.book.store import Book
from core.days import Moment, parse_moment
from core.errors import EntryError
from core.figures import Figure
from core.review import review_month, see
from core.review.decide import decide
from core.review.not_come import from_to, may_not_have_come, planned_not_come, said, write_not_come, zones_of
from tests.core.review.gardens import begin, did_not_run, drip, measure, metered, normals, program, shrubs, write, zone

BOTH = {"bed": "Bed", "pots": "Pots"}
NOW = datetime(2026, 7, 31, 18, tzinfo=UTC)
SAID = Moment(NOW, -360)


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """The bed on Mondays and Thursdays at 5, half an hour of 60 L/h; the pots every day at 6 and at 18."""
    book = begin(
        tmp_path, zone(), zone("pots"), shrubs(), drip(), shrubs("pots", "herbs"), drip("pots", 12, "herbs"),
        program(), program("pots", days="daily", starts="06:00 18:00", minutes=10), *normals(),
    )  # fmt: skip
    metered(book, date(2026, 5, 1), 91)
    return book


def silent(**over: Any) -> Finding:
    """No water for either from the 6th to the 19th of July, a Monday to a Sunday."""
    fields: dict[str, Any] = {
        "kind": "not_delivered", "meter": "curb", "zone": None, "group": ("bed", "pots"),
        "since": datetime(2026, 7, 6, 11, tzinfo=UTC), "until": datetime(2026, 7, 20, 2, tzinfo=UTC),
        "rate_lph": None, "volume": Figure(-200.0, "volume"), "strength": "fair", "score": 5.0, "share": -1.0,
    }  # fmt: skip
    return Finding(**(fields | over))


def test_what_would_be_written_is_counted_and_written_in_one_step(book: Book) -> None:
    """Two weeks: four runs of the bed, on the 6th, 9th, 13th and 16th; of the pots two a day on fourteen days."""
    before, span = book.number(), from_to("2026-07-06", "2026-07-19", book)
    bed, pots = planned_not_come(book, BOTH, *span, NOW)
    assert (bed.runs, bed.days) == (4, tuple(date(2026, 7, d) for d in (6, 9, 13, 16)))
    assert (pots.runs, len(pots.days), len(pots.records)) == (28, 14, 14), "a day alone stands for both of its runs"
    assert bed.words == "Bed: 4 runs from 6 to 16 July 2026."
    assert book.number() == before, "showing writes nothing"

    number, written = write_not_come(book, silent(), BOTH, *span, SAID, " dead battery ")
    assert said(written) == "32 runs of Bed and Pots from 6 to 19 July 2026"
    records = [s.record for s in book.records(Run)]
    assert len(records) == 4 + 14
    assert {(r.ran, r.at.exact, r.why) for r in records} == {(False, "day", "dead battery")}
    (decision,) = (s.record for s in book.records(Decision))
    assert (decision.verdict, decision.cause, decision.note) == ("explained", "not_delivered", "dead battery")
    assert number is not None
    book.undo(number)
    assert (book.records(Run), book.records(Decision)) == ([], [])


def test_the_month_and_the_plants_count_without_them(book: Book) -> None:
    """The bed has nine runs in July (Thursday the 2nd to Thursday the 30th), four of which did not come."""

    def minutes() -> float:
        days = review_month(book, "2026-07", NOW).zone_days
        return float(days.loc[days["zone"] == "bed", "run_minutes"].sum())

    given = applied(book)
    assert minutes() == 9 * 30
    write_not_come(book, silent(decision="repaired"), BOTH, *from_to("2026-07-06", "2026-07-19", book), SAID)
    month = review_month(book, "2026-07", NOW)
    bed = next(z for z in month.zones if z.zone == "bed")
    assert (bed.missed_days, month.missed.value, minutes()) == (4, 14, 5 * 30)
    assert applied(book) == pytest.approx(given * 5 / 9, rel=0.1), "the meter learns the flow anew"
    assert not book.records(Decision), "it had its verdict"


def applied(book: Book) -> float:
    (bed,) = (z for z in review_month(book, "2026-07", NOW).zones if z.zone == "bed")
    return bed.applied.value or 0.0


def test_a_day_of_which_only_a_part_did_not_come_keeps_the_rest(book: Book) -> None:
    """From the evening of the 8th to the morning of the 10th: one, two and one run of the pots, one of the bed."""
    span = from_to("2026-07-08 18:00", "2026-07-10 06:00", book)
    bed, pots = planned_not_come(book, BOTH, *span, NOW)
    assert (bed.runs, pots.runs) == (1, 4)
    assert [str(r.at) for r in pots.records] == ["2026-07-08 18:00-06:00", "2026-07-09", "2026-07-10 06:00-06:00"]
    write_not_come(book, silent(), BOTH, *span, SAID)
    runs = see(book, NOW).runs
    runs = runs[(runs["zone"] == "pots") & runs["day"].between("2026-07-08", "2026-07-10")]
    assert runs["basis"].tolist() == ["presumed", "did_not", "did_not", "did_not", "did_not", "presumed"]


def test_what_is_written_down_already_stays_and_is_said(book: Book) -> None:
    """Somebody saw the bed run on the 9th, and wrote down that it did not on the 13th."""
    write(
        book, did_not_run(book, date(2026, 7, 13)),
        Run(zone="bed", at=parse_moment("2026-07-09 05:10", book.zone_info), duration=measure(30, "min", "duration")),
    )  # fmt: skip
    span = from_to("2026-07-06", "2026-07-19", book)
    (bed,) = planned_not_come(book, {"bed": "Bed"}, *span, NOW)
    assert bed.words == "Bed: 2 runs from 6 to 16 July 2026. 2 more are written down already and stay."
    write_not_come(book, silent(), {"bed": "Bed"}, *span, SAID)
    with pytest.raises(EntryError, match="All 4 runs of Bed from 6 to 19 July 2026 are written down already"):
        planned_not_come(book, {"bed": "Bed"}, *span, NOW)
    pots_too = planned_not_come(book, BOTH, *span, NOW)
    assert [n.words for n in pots_too] == [
        "Bed: what ran is written down already.", "Pots: 28 runs from 6 to 19 July 2026.",
    ]  # fmt: skip


def test_runs_to_come_are_nobodys_to_speak_of(book: Book) -> None:
    """On the 9th at noon the evening's run of the pots is still to come, so the day as a whole is not written off."""
    noon = datetime(2026, 7, 9, 18, tzinfo=UTC)
    (pots,) = planned_not_come(book, {"pots": "Pots"}, *from_to("2026-07-09", "2026-07-12", book), noon)
    assert [str(r.at) for r in pots.records] == ["2026-07-09 06:00-06:00"]


@pytest.mark.parametrize(
    ("since", "until", "zones", "said"),
    [
        ("2026-07-19", "2026-07-06", BOTH, "2026-07-19 comes after 2026-07-06"),
        ("2026-07-06 07:00", "2026-07-06 06:00", BOTH, "comes after"),
        ("2026-07-07", "2026-07-08", {"bed": "Bed"}, "No run of Bed was set from 7 to 8 July 2026"),
        ("2026-08-03", "2026-08-09", BOTH, "No run of Bed and Pots was set"),  # after now
        ("2026-07-06", "2026-07-19", {}, "Of which zones"),
        ("2026-07-06 25:00", "2026-07-19", BOTH, "not a date or time"),
    ],
)
def test_what_makes_no_sense_is_refused(book: Book, since: str, until: str, zones: dict[str, str], said: str) -> None:
    with pytest.raises(EntryError, match=said):
        planned_not_come(book, zones, *from_to(since, until, book), NOW)


def test_which_findings_it_is_offered_for_and_which_zones() -> None:
    assert may_not_have_come(silent())
    clogged = silent(kind="less_than_set")
    assert not may_not_have_come(clogged)
    named = silent(kind="less_than_set", decision="explained", cause=Cause("not_delivered", "pots"))
    assert may_not_have_come(named)
    assert (zones_of(silent()), zones_of(named)) == (("bed", "pots"), ("pots",))


def test_until_it_is_written_the_month_asks_from_when_to_when(tmp_path: Path) -> None:
    """A meter of the garden alone, read weekly, then not for four weeks in which nothing passed: on which of its days
    the reading cannot say. 400 L/h for half an hour are 200 L a day.
    """
    book = begin(tmp_path, zone(), shrubs(), drip(lph=400), program(days="daily"), *normals())
    read = {date(2026, 5, 1) + timedelta(days=7 * week): 1400 * week for week in range(10)}  # to 3 July
    write(
        book,
        Meter(code="curb", name="Curb", supply="street", unit="l", digits=9, counts="garden"),
        *(
            MeterReading(meter="curb", at=parse_moment(f"{day} 12:00", book.zone_info), register_value=Decimal(litres))
            for day, litres in (read | {date(2026, 7, 31): 9 * 1400}).items()
        ),
    )

    def asks() -> list[str]:
        return [s.words for s in review_month(book, "2026-07", NOW).next_steps if s.words.startswith("Say from when")]

    (found,) = (f for f in see(book, NOW).accounts["curb"].findings if f.kind == "not_delivered")
    assert asks() == [], "nobody has said yet what it was"
    decide(book, found, "explained", SAID, cause=Cause("not_delivered"))
    assert asks() == ["Say from when to when the runs of Bed did not come: until then their water counts as given."]
    write_not_come(book, found, {"bed": "Bed"}, *from_to("2026-07-04", "2026-07-30", book), SAID)
    assert asks() == []
    assert review_month(book, "2026-07", NOW).missed.value == 27
