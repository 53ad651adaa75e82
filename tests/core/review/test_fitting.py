"""Programs that fit, against sums done by hand, and the limits of controllers, rules, soil and supply.

Shrubs (see test_plants): 6 mm of reference ET x 0.5 x 10 m2 is 30 L a day; over an efficiency of 0.90 (EPA WaterSense
v2.0, micro-irrigation) 33.3 L. Buttons wet half of 93 mm, p is 0.58 at 3 mm a day, so the store lasts 8.99 days.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from itertools import pairwise
from pathlib import Path

import pytest

from core.book.kinds import CatchTest, Controller, FactorMonth, Pause, Program, Supply
from core.book.store import Book
from core.days import parse_moment
from core.errors import EntryError
from core.review.as_set import days_words
from core.review.fitting import FittingMonth, ZoneFit, fitting_month, fitting_year
from core.review.fitting_told import month_sentences
from core.review.outlook import Basis
from core.review.picture import draw
from tests.core.review.gardens import (
    begin,
    drip,
    measure,
    metered,
    normals,
    pot,
    program,
    rain,
    shrubs,
    weather,
    write,
    zone,
)

NOW = datetime(2026, 7, 15, 18, tzinfo=UTC)


def july(book: Book, basis: Basis = "normals", month: int = 7) -> FittingMonth:
    return fitting_month(draw(book, NOW), month, basis)


def only(found: FittingMonth) -> ZoneFit:
    (one,) = found.zones
    return one


@pytest.fixture
def bed(tmp_path: Path) -> Book:
    return begin(tmp_path, zone(), shrubs(), drip(), program(minutes=60), *normals())


def test_deep_and_seldom_for_a_big_store(bed: Book) -> None:
    """Every 8 days is the longest gap within 8.99: 8 x 33.3 L at 60 L/h is 267 min, in two starts of 133 or 134."""
    found = only(july(bed))
    assert found.need.value == pytest.approx(30 / 0.9)
    assert found.fit is not None
    assert days_words(found.fit.days) == "every 8 days"
    assert (found.fit.starts, found.fit.minutes) in ((2, 133), (2, 134))
    assert found.fit_l == pytest.approx(2 * found.fit.minutes / 8 * 31)  # 1 L a minute
    assert found.risk == ""


def test_beside_what_is_set(bed: Book) -> None:
    """An hour on 9 Mondays and Thursdays of July 2026 is 540 L where 1,033 are needed: 52 %."""
    found = only(july(bed))
    assert [p.words for p in found.as_set] == ["Mon, Thu at 05:00, 60 min"]
    assert found.set_l == pytest.approx(540)
    assert found.less_l == pytest.approx(540 - found.fit_l)
    assert "52 % of what is needed" in found.set_risk
    assert "Set now: Mon, Thu at 05:00, 60 min" in found.sentence


def test_the_difference_in_money(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(), drip(), program(days="daily", minutes=120), *normals())
    metered(book, date(2026, 6, 1), 44)
    found = only(july(book))
    assert found.less_l is not None
    assert found.less_l > 0
    assert found.money == pytest.approx(found.less_l * 10 / 1000)  # one price, 10 a cubic metre


def test_a_catch_test_takes_the_place_of_the_efficiency(bed: Book) -> None:
    at = parse_moment("2026-06-01 09:00", bed.zone_info)
    write(bed, CatchTest(zone="bed", at=at, caught_ml="25 50 50 75", duration=measure(3, "min", "duration")))
    found = only(july(bed))
    assert found.need.value == pytest.approx(30 / 0.5)  # lowest quarter 25 over a mean of 50
    sources = [line.what for line in found.need.working]
    assert "field uniformity" in sources
    assert not any("efficiency" in what for what in sources)


def test_a_factor_of_the_month_counts(bed: Book) -> None:
    write(bed, FactorMonth(zone="bed", planting="shrubs", month=7, factor=0.25, reason="old and dry"))
    assert only(july(bed)).need.value == pytest.approx(15 / 0.9)


def test_a_pot_asks_for_several_starts_a_day(tmp_path: Path) -> None:
    """A pot of 2 L holds 12.2 mm; at 4.8 mm a day p is 0.358, so it lasts 0.91 days: two starts, well apart."""
    book = begin(tmp_path, zone(), pot(), drip(lph=2, waters="pot"), program(), *normals())
    found = only(july(book))
    assert found.fit is not None
    assert days_words(found.fit.days) == "every day"
    assert found.fit.starts == 2
    assert found.starts is not None
    first, second = found.starts.times
    assert (second.hour * 60 + second.minute) - (first.hour * 60 + first.minute) > 6 * 60
    assert "it starts once a day" in found.set_risk


def test_clay_makes_it_cycle_and_soak(tmp_path: Path) -> None:
    """48 mm/h on clay, which takes far less: one long run is told as a risk and the fitting program soaks between."""
    book = begin(
        tmp_path, zone(), shrubs(soil="clay"), drip(lph=240), program(days="mon", minutes=60), *normals(),
        Controller(code="other", name="Other"),
    )  # fmt: skip
    found = only(july(book))
    assert "more than the soil takes" in found.set_risk
    assert found.fit is not None
    assert found.fit.starts > 1
    assert found.fit.soak_minutes > 0
    assert found.starts is not None
    begins = [t.hour * 60 + t.minute for t in found.starts.times]
    assert all(b - a >= found.fit.minutes + found.fit.soak_minutes for a, b in pairwise(begins))


def test_the_last_weeks_count_their_rain(bed: Book) -> None:
    """14 days of 5 mm, and 14 mm of rain on one of them: 2.5 - 1 mm over 10 m2 is 15 L a day."""
    write(bed, *weather(date(2026, 7, 1), date(2026, 7, 14), 5.0), rain(bed, date(2026, 7, 8), 14.0))
    found = july(bed, "recent")
    assert found.weather.basis == "recent"
    assert found.weather.reference_et_mm == pytest.approx(5.0)
    assert only(found).need.value == pytest.approx(15 / 0.9)


def test_without_recent_weather_the_normals_stand_in_and_it_is_said(bed: Book) -> None:
    found = july(bed, "recent")
    assert found.weather.basis == "normals"
    assert "stands in" in found.weather.words
    assert only(found).need.value == pytest.approx(30 / 0.9)


def test_a_dry_spell_takes_the_thirstiest_weeks_and_no_rain(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(), drip(), program(), *normals(rain_mm=62.0))
    write(book, *weather(date(2026, 7, 1), date(2026, 7, 14), 9.0))
    dry, usual = july(book, "dry"), july(book)
    assert dry.weather.reference_et_mm == pytest.approx(9.0)
    assert only(dry).need.value == pytest.approx(45 / 0.9)
    # 62 mm in a month count as 62 (125 - 0.2 x 62) / 125 = 55.85 (USDA-SCS), 1.80 a day of the 3 needed
    assert only(usual).need.value == pytest.approx((3 - 55.85 / 31) * 10 / 0.9, rel=1e-3)


def test_months_with_rain_enough_ask_for_nothing(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(), drip(), program(), *normals(rain_mm=200.0))
    found = only(july(book))
    assert found.fit is None
    assert found.note == "Rain is enough."
    assert found.fit_l == 0.0
    assert found.less_l == pytest.approx(9 * 30)


def test_no_weather_to_go_by_is_refused(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(), drip(), program())
    with pytest.raises(EntryError, match="Nothing is known of the weather in July"):
        july(book)


@pytest.mark.parametrize(("month", "basis", "said"), [(13, "normals", "not a month"), (7, "wet", "can be made for")])
def test_what_is_no_month_or_basis_is_refused(bed: Book, month: int, basis: str, said: str) -> None:
    with pytest.raises(EntryError, match=said):
        fitting_month(draw(bed, NOW), month, basis)  # type: ignore[arg-type]


def test_plants_of_the_season_count_as_last_grown(tmp_path: Path) -> None:
    flowers = {"plant_type": "annual-flowers", "since": date(2025, 5, 15), "until": date(2025, 10, 1)}
    gone = shrubs(code="hedge", since=date(2025, 5, 1), until=date(2025, 10, 1))
    book = begin(
        tmp_path, zone(), shrubs(code="flowers", **flowers), gone, drip(waters="flowers hedge", since=date(2025, 5, 1)),
        program(since=date(2025, 5, 1)), *normals(),
    )  # fmt: skip
    picture = draw(book, datetime(2025, 11, 20, 18, tzinfo=UTC))
    july_next = only(fitting_month(picture, 7))
    assert july_next.demand is not None
    assert list(july_next.demand.plantings["planting"]) == ["flowers"]  # a hedge that went is not planted again
    assert "as grown in July 2025" in july_next.note
    assert only(fitting_month(picture, 11)).note == "Nothing grows there then."


def test_a_zone_whose_plants_nobody_wrote_down_is_not_said_to_need_nothing(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), drip(), program(), *normals())
    month = fitting_month(draw(book, datetime(2026, 7, 15, 18, tzinfo=UTC)), 7)
    found = only(month)
    assert found.note == "What grows there is not written down."
    assert (found.fit, found.fit_l, found.set_risk) == (None, None, "")
    assert month.sentences[1] == "What Bed needs in July cannot be worked out from what is written down."


def test_the_system_shut_down_for_winter(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(), drip(), program(), *normals(), shutdown_due="10-20", startup_due="04-15")
    notes = {m: only(july(book, month=m)).note for m in (1, 4, 7, 10, 11)}
    assert notes[1] == notes[11] == "The system is usually shut down then."
    assert notes[4] == notes[7] == notes[10] == ""


def test_what_cannot_be_worked_out_is_said_zone_by_zone(tmp_path: Path) -> None:
    book = begin(
        tmp_path, zone(), shrubs(), drip(), zone("dry"), shrubs("dry"), zone("odd"), drip("odd", waters="x"),
        shrubs("odd"), zone("hose", hand=True, controller=None), *normals(),
    )  # fmt: skip
    found = july(book)
    notes = {z.zone: z.note for z in found.zones}
    assert "Its flow is not known" in notes["dry"]
    assert "No emitter waters Shrubs" in notes["odd"]
    assert found.by_hand == ("Hose",)
    assert next(z for z in found.zones if z.zone == "bed").fit is not None


def test_two_zones_at_once_beyond_the_supply(tmp_path: Path) -> None:
    """Two zones of 60 L/h at five o'clock; 80 % of 100 L/h should be drawn. Those that fit run one after the other."""
    book = begin(
        tmp_path, zone(), shrubs(), drip(), program(), zone("lawn"), shrubs("lawn"), drip("lawn"), program("lawn"),
        *normals(),
    )  # fmt: skip
    street = book.records(Supply)[0]
    with book.change("capacity") as change:
        change.correct(street.id, street.record.model_copy(update={"capacity": measure(100, "lph", "flow")}))
    found = july(book)
    assert len(found.set_conflicts) == 1
    assert "Bed and Lawn are open together and ask for 40" in found.set_conflicts[0]
    assert found.conflicts == ()


def test_runs_outside_the_local_rule(tmp_path: Path) -> None:
    book = begin(tmp_path, zone(), shrubs(), drip(), program(minutes=30), *normals())
    box = book.records(Controller)[0]
    rule = {"allowed_days": "tue fri", "allowed_hours": "21:00-05:15"}
    with book.change("rule") as change:
        change.correct(box.id, box.record.model_copy(update=rule))
    found = july(book)
    assert any("waters on Thu 2 July" in said and "Tue, Fri" in said for said in found.set_conflicts)
    assert any("15 min outside" in said and "21:00 to 05:15" in said for said in found.set_conflicts)
    fit = only(found).fit
    assert fit is not None
    assert fit.days.weekdays <= {1, 4}
    assert found.conflicts == ()


def test_start_times_that_serve_are_kept(tmp_path: Path) -> None:
    """Two starts are wanted and two are set, no further apart than the pot lasts: the hours somebody chose stay."""
    book = begin(tmp_path, zone(), pot(), drip(lph=2, waters="pot"), program(starts="06:10 19:40"), *normals())
    starts = only(july(book)).starts
    assert starts is not None
    assert [str(t)[:5] for t in starts.times] == ["06:10", "19:40"]


def test_what_a_month_got_is_what_the_days_say_and_not_the_program_alone(tmp_path: Path) -> None:
    """Mondays and Thursdays from 15 May 2026 on, a Friday: 18, 21, 25, 28 May (any calendar), an hour of 60 L each.

    June is paused; of July, 2, 6, 9 and 13 have come by the 15th.
    """
    off = Pause(scope="bed", since=date(2026, 6, 1), until=date(2026, 7, 1), reason="repair")
    book = begin(tmp_path, zone(), shrubs(), drip(), program(minutes=60, since=date(2026, 5, 15)), off, *normals())
    got = {month: only(july(book, month=month)).gave_l for month in (4, 5, 6, 7)}
    assert got == {4: 0.0, 5: pytest.approx(240), 6: 0.0, 7: pytest.approx(240)}


def test_a_year_begins_with_the_running_month(bed: Book) -> None:
    year = fitting_year(draw(bed, NOW))
    assert [m.month for m in year] == [7, 8, 9, 10, 11, 12, 1, 2, 3, 4, 5, 6]
    assert year[0].running
    assert not year[1].running
    assert year[6].first == date(2027, 1, 1)
    assert all(z.as_set == () for z in year[6].zones)  # nothing was set in January 2026


def test_the_programs_kept_in_the_book_have_not_changed(bed: Book) -> None:
    """Looking writes nothing."""
    number = bed.number()
    july(bed)
    assert bed.number() == number
    assert len(bed.records(Program)) == 1


def test_the_month_says_which_zones_are_off_when_the_sum_is_not() -> None:
    """Two zones that cancel out, 300 L less and 290 L more, are not "about what is given"; 5 % off is."""
    said = month_sentences(date(2026, 7, 1), "", [("Bed", 1000, 700), ("Tubs", 1000, 1290)], "set now", "", "metric")
    assert said[1] == (
        "Programs that fit give 2,000 L in all of July to 2 zones, in all about what is given as set now; but Bed gets "
        "300 L less and Tubs 290 L more."
    )
    said = month_sentences(date(2026, 7, 1), "", [("Bed", 1000, 950), ("Tubs", 1000, 1050)], "set now", "", "metric")
    assert said[1].endswith("in all about what is given as set now.")


def test_what_is_still_set_though_nothing_needs_it_stands_beside(tmp_path: Path) -> None:
    """300 mm of rain in a usual month is more than the plants need; an hour on 9 Mondays and Thursdays is 540 L."""
    book = begin(tmp_path, zone(), shrubs(), drip(), program(minutes=60), *normals(rain_mm=300))
    found = july(book)
    one = only(found)
    assert (one.fit, one.fit_l, one.set_l, one.less_l) == (None, 0.0, pytest.approx(540), pytest.approx(540))
    assert one.set_risk == "Nothing needs it then, so all of it is too much."
    assert one.sentence == "Bed: Rain is enough. Set now: Mon, Thu at 05:00, 60 min, 540 L a month."
    assert found.sentences[1] == "Nothing needs watering in July, and Bed gives 540 L a month as set now."


def test_offered_starts_are_kept_only_when_round_and_at_night(tmp_path: Path) -> None:
    """Every 8 days twice 133 minutes: starts set at odd minutes or by day are not offered again, round ones are."""
    for starts, kept in (("01:00 05:30", True), ("01:03 05:30", False), ("04:00 11:00", False)):
        folder = tmp_path / starts[:5].replace(":", "") / starts[6:].replace(":", "")
        folder.mkdir(parents=True)
        found = only(july(begin(folder, zone(), shrubs(), drip(), program(starts=starts, minutes=60), *normals())))
        assert found.starts is not None
        assert (str(found.starts) == starts) is kept
        assert all(t.minute % 5 == 0 for t in found.starts.times)
