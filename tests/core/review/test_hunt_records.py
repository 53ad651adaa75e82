"""A leak hunt in the book, and the words it is told in."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from core.book.kinds import LeakTest, Meter, MeterReading, Task, Upkeep
from core.book.store import Book
from core.care.leak_hunt import ADVICE, STEPS, advice
from core.days import Moment
from core.errors import EntryError
from core.review.hunt import Setting, hunt_setting, hunts_at
from core.review.hunt_step import leak_test, starts_within, store_test
from core.review.hunt_words import drip_words, hole_of, hours_words, title, to_see
from tests.core.review.trials import CURB, GALLON_L, GARDEN, HOUSE_ONLY, NIGHT, at, trial


def test_the_sample_household_found_its_leak_indoors(sample: Book) -> None:
    """7 and 8 November 2025, a toilet's fill valve: everything off, drip line shut, house valve shut."""
    frames = sample.frames()
    setting = hunt_setting(frames, "street", date(2025, 11, 8))
    assert [code for code, _ in setting.valves] == ["berries", "fence", "gravel", "kitchen", "porch"]
    found = hunts_at(frames, setting)
    assert [h.place for h in found] == ["nothing", "inside", "nothing", "nothing", "nothing"]
    hunt = found[1]
    assert (hunt.place, hunt.sure) == ("inside", True)
    assert [t.verdict for t in hunt.tests] == ["", "same", "stopped"]
    assert hunt.base is not None
    assert hunt.base.low_lph / GALLON_L <= 3.4 <= hunt.base.high_lph / GALLON_L, "the truth file says 3.4 gph"


def moment(minutes: float) -> Moment:
    return Moment(NIGHT + timedelta(minutes=minutes), -360)


def test_a_step_becomes_a_record_and_reads_back_as_that_step(garden_book: Book) -> None:
    with garden_book.change("a hunt") as change:
        change.add(leak_test(CURB, "off", None, moment(0), moment(120), Decimal(1000), Decimal(1007)))
        change.add(leak_test(CURB, "zone", "hedge", moment(130), moment(160), Decimal(1007), Decimal(1007)))
        change.add(leak_test(CURB, "run", "hedge", moment(170), moment(180), Decimal(1007), Decimal(1014)))
    record = garden_book.records(LeakTest)[0].record
    assert (record.shut, record.zone, record.duration.base) == ("nothing", None, 120)
    frames = garden_book.frames()
    (hunt,) = hunts_at(frames, hunt_setting(frames, "curb", date(2026, 9, 2)))
    assert [(t.code, t.zone) for t in hunt.tests] == [("off", None), ("zone", "hedge"), ("run", "hedge")]


@pytest.mark.parametrize(
    ("minutes", "before", "after", "said"),
    [
        (0, "1", "1", "after the first"),
        (5, "0", "-1", "less than 0"),
        (60, "412350", "412340", "lower than the first"),
        (60, "412350", "4123500", "more than a home's meter can pass"),
        (60, "412350", "41235000", "more than the 7 digits"),
    ],
)
def test_readings_that_cannot_both_be_right_are_refused(minutes: int, before: str, after: str, said: str) -> None:
    with pytest.raises(EntryError, match=said):
        leak_test(CURB, "off", None, moment(0), moment(minutes), Decimal(before), Decimal(after))


def test_a_register_may_roll_over_during_a_test() -> None:
    assert leak_test(CURB, "off", None, moment(0), moment(60), Decimal(9_999_998), Decimal(3)).after == 3


def test_a_start_within_the_wait_is_told(garden_book: Book) -> None:
    """The hedge's program starts at 05:00 on Wednesdays: 11:00 UTC in summer, Denver."""
    frames, zone = garden_book.frames(), ZoneInfo("America/Denver")
    setting = hunt_setting(frames, "curb", date(2026, 9, 2))
    wednesday = datetime(2026, 9, 2, 10, tzinfo=UTC)
    assert starts_within(frames, setting, zone, wednesday, wednesday + timedelta(hours=2)) == [
        ("Hedge", wednesday + timedelta(hours=1))
    ]
    assert starts_within(frames, setting, zone, wednesday - timedelta(hours=4), wednesday) == []


def test_the_hole_has_a_range_that_holds_the_published_table() -> None:
    """Powder Springs GA: a 1/32 in hole at 60 psi leaks 6,000 gal a month; Durant OK: 1/16 in 800 gal a day."""
    for inches, gph in ((1 / 32, 6000 / 30.42 / 24), (1 / 16, 800 / 24)):
        hunt = at(HOUSE_ONLY, trial("off", gph * 8, 8))
        hole = hole_of(hunt, HOUSE_ONLY)
        assert hole is not None
        assert hole.assumed
        assert hole.pressure_kpa == pytest.approx(60 * 6.894757, rel=1e-5)
        assert hole.mid_mm == pytest.approx(25.4 * inches, rel=0.03)
        assert hole.low_mm < 25.4 * inches < hole.high_mm
        assert "most printed tables" in hole.words("us")


def test_behind_the_regulator_the_lower_pressure_counts() -> None:
    setting = Setting("curb", GALLON_L, GARDEN.valves, GARDEN.flows, static_kpa=430, drip_kpa=170)
    tests = [trial("off", 12, 2), trial("house", 12, 2), trial("manifold", 0, 2)]
    head = hole_of(at(setting, *tests), setting)
    zone = hole_of(at(setting, *tests, trial("zone", 0, 2, zone="hedge")), setting)
    assert head is not None
    assert zone is not None
    assert (head.pressure_kpa, zone.pressure_kpa) == (430, 170)
    assert not head.assumed
    assert hole_of(at(setting, trial("off", 0, 2)), setting) is None


def test_words_for_waits_and_drips() -> None:
    assert [hours_words(h) for h in (0.25, 1, 1.25, 10, 72)] == ["15 min", "1 h", "1 h 15 min", "10 h", "3 days"]
    assert to_see(HOUSE_ONLY, "us") == "To be sure to see 1.0 gph this register needs 1 h."
    assert to_see(Setting("curb", 10 * GALLON_L), "us").endswith("10 h.")
    assert "67 drips a minute" in drip_words(1.0), "USGS: 4,000 drips of 0.25 mL a litre, so 66.7 a minute"
    assert drip_words(40) == drip_words(0) == ""


def test_every_place_and_step_has_its_words() -> None:
    for place in ADVICE:
        words, caution = advice(place)
        assert words
        assert caution
    assert advice("nothing") == ("", "")
    assert all(s.words and s.means and s.source and s.caution for s in STEPS.values())
    assert "811" in advice("service")[1]
    assert "licensed" in advice("service")[0]
    assert "24 V" in advice("zone")[1]
    assert title("zone", "hedge", GARDEN.names) == "Shut Hedge alone: read, wait, read"


def test_everything_off_is_the_care_of_that_name_done_once_a_day(garden_book: Book) -> None:
    off = leak_test(CURB, "off", None, moment(0), moment(120), Decimal(1000), Decimal(1000))
    assert store_test(garden_book, off, "everything off") is not None
    assert garden_book.records(Upkeep) == [], "the book has no such care"
    with garden_book.change("care") as change:
        change.add(Task(code="leak-test", name="Look for a leak at the meter", every_days=90))
    again = leak_test(CURB, "off", None, moment(130), moment(250), Decimal(1000), Decimal(1000))
    house = leak_test(CURB, "house", None, moment(260), moment(290), Decimal(1000), Decimal(1000))
    number = store_test(garden_book, again, "everything off")
    store_test(garden_book, house, "house")
    assert [(s.record.task, s.record.day) for s in garden_book.records(Upkeep)] == [("leak-test", date(2026, 9, 2))], (
        "past midnight in Denver"
    )
    assert number is not None
    garden_book.undo(number)
    assert (len(garden_book.records(LeakTest)), garden_book.records(Upkeep)) == (2, [])


def test_the_step_is_that_of_the_latest_reading_by_eye_not_of_the_meter_as_first_written(garden_book: Book) -> None:
    """A register first taken for one of 10 gal and read to 1 gal since: two hours then show half a gallon an hour.

    Tests made before that keep the step they were read to.
    """
    then, later = moment(0), Moment(NIGHT + timedelta(days=30), -360)
    with garden_book.change("finer") as change:
        meter = change.find(Meter, "curb")
        assert meter is not None
        change.correct(meter.id, meter.record.model_copy(update={"resolution": Decimal(10)}))
        change.add(leak_test(CURB, "off", None, then, moment(120), Decimal(1000), Decimal(1020)))
        for days, step in ((20, Decimal(1)), (10, None)):
            on = Moment(NIGHT + timedelta(days=days), -360)
            change.add(MeterReading(meter="curb", at=on, register_value=Decimal(1020 + days), resolution=step))
        bill = Moment(NIGHT + timedelta(days=25), -360)
        change.add(
            MeterReading(meter="curb", at=bill, register_value=Decimal(2000), resolution=Decimal(1000), how="bill")
        )
        over = Moment(later.utc + timedelta(hours=2), -360)
        change.add(leak_test(CURB, "off", None, later, over, Decimal(2001), Decimal(2003)))
    frames = garden_book.frames()
    setting = hunt_setting(frames, "curb", date(2026, 10, 1))
    assert setting.step_l == pytest.approx(GALLON_L)
    old, new = (h.base for h in hunts_at(frames, setting))
    assert old is not None
    assert new is not None
    assert [old.high_lph / GALLON_L, new.high_lph / GALLON_L] == pytest.approx([(20 + 10) / 2, (2 + 1) / 2])
