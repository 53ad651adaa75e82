"""First steps: a stranger goes from nothing to a first review, with Undo, skipping and coming back."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from core.book.kinds import (
    Controller,
    EmitterGroup,
    Home,
    Household,
    Measured,
    Meter,
    MeterReading,
    Normal,
    Planting,
    Program,
    Supply,
    Tariff,
    Zone,
)
from core.book.store import Book
from core.days import parse_moment
from core.review import review_month
from tests.dashboard.conftest import ROOT, Open, words


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Book:
    home = Home(name="Birch", latitude=40.0, timezone="America/Denver", people=2)
    book = Book.create(tmp_path / "birch.rillbook", home)
    monkeypatch.setenv("RILLBOOK_BOOK", str(book.path))
    return book


def steps(page: str = "steps") -> AppTest:
    at = AppTest.from_file(str(ROOT / "dashboard" / "app.py"), default_timeout=30).run()
    if page != "month":
        at.switch_page(f"views/{page}.py").run()
    assert not at.exception
    return at


def press(at: AppTest, label: str) -> None:
    next(b for b in at.button if b.label == label).click().run()
    assert not at.exception


def type_in(at: AppTest, label: str, text: str) -> None:
    next(t for t in at.text_input if t.label.startswith(label)).input(text)


def test_a_bare_book_opens_at_the_first_steps_with_a_way_to_the_month_and_back(bare: Book) -> None:
    at = steps("month")
    assert at.header[0].value == "First steps"
    assert "Look at this month" in [p.proto.label for p in at.get("page_link")]
    at.switch_page("views/month.py").run()
    assert "Nothing in the book speaks of July 2026 yet." in words(at), "once opened, every page is free"
    assert any("first steps" in p.proto.label for p in at.get("page_link"))
    at.run()
    assert at.header[0].value == "July 2026"


def test_a_month_that_is_asked_for_is_shown(bare: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    at = AppTest.from_file(str(ROOT / "dashboard" / "app.py"), default_timeout=30)
    at.query_params["month"] = "2026-06"
    assert at.run().header[0].value == "June 2026"
    monkeypatch.setenv("RILLBOOK_MONTH", "2026-05")
    assert steps("month").header[0].value == "May 2026"


def test_two_readings_are_something_to_review(bare: Book) -> None:
    with bare.change("water and readings") as change:
        change.add(Supply(code="water", name="Water"))
        change.add(Meter(code="m", name="M", supply="water", unit="gal"))
        change.add(MeterReading(meter="m", at=parse_moment("2026-07-01", bare.zone_info), register_value=1))
    assert steps("month").header[0].value == "First steps", "one reading has nothing to be held against"
    with bare.change("a second one") as change:
        change.add(MeterReading(meter="m", at=parse_moment("2026-07-08", bare.zone_info), register_value=900))
    assert steps("month").header[0].value == "July 2026"


def test_the_next_zone_is_offered_until_somebody_says_that_is_all(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    assert not any("That is all" in b.label for b in at.button)
    for name, many in (("Tubs", "1 zone"), ("Hedge", "2 zones")):
        type_in(at, "Name of the zone", name)
        next(s for s in at.selectbox if s.label == "Plants").set_value("shrub")
        type_in(at, "Width across one", "2")
        press(at, "Store the zone")
        zones = next(e for e in at.expander if "3. What the system waters" in e.label)
        assert zones.proto.expanded, "a home has several"
        assert any(f"the zone {name} with its" in s.value for s in zones.success), "told where it was stored"
        assert next(t for t in zones.text_input if t.label.startswith("Name of the zone")).value == ""
        assert any(b.label == f"That is all: {many}" for b in zones.button)
    press(at, "That is all: 2 zones")
    opened = [e.label for e in at.expander if e.proto.expanded]
    assert [label[3:] for label in opened] == ["1. Who lives there, and when frost comes"], "the first not written down"
    assert not any("That is all" in b.label for b in at.button)


def test_from_nothing_to_a_first_review(bare: Book) -> None:
    at = steps()
    assert any("0 of 6" in str(p.proto.text) for p in at.get("progress"))
    press(at, "Store the water")
    assert [s.record.code for s in bare.records(Supply)] == ["water"]
    assert bare.records(Meter)[0].record.unit == "gal"

    type_in(at, "Name of the zone", "Front *hedge*")
    next(s for s in at.selectbox if s.label == "Plants").set_value("shrub")
    type_in(at, "How many plants", "8")
    type_in(at, "Width across one", "3,5")
    type_in(at, "How many emitters", "16")
    type_in(at, "Flow of one, gallons", "1")
    next(p for p in at.pills if p.label == "Days it waters").set_value(["fri", "mon"])
    type_in(at, "Start times", "5:00")
    type_in(at, "Minutes each start", "60")
    press(at, "Store the zone")
    assert [s.record.name for s in bare.records(Zone)] == ["Front *hedge*"]
    planting, emitters, program = (bare.records(k)[0].record for k in (Planting, EmitterGroup, Program))
    assert (planting.count, planting.canopy.typed, planting.canopy.unit) == (8, "3.5", "ft")
    assert (emitters.count, emitters.flow_each.unit) == (16, "gph")
    assert (program.days, program.starts, program.minutes) == ("mon fri", "05:00", 60.0)
    controller = bare.records(Controller)[0].record
    assert (controller.code, controller.follows_dst) == ("timer", True), "times are typed as its display shows them"

    type_in(at, "Usual lowest", "20 24 32 38 46 54 61 59 50 39 29 21")
    type_in(at, "Usual highest", "37 43 54 61 71 83 91 88 79 65 49 38")
    type_in(at, "Usual rain", "1.2 1.2 1.8 2.0 1.8 0.9 0,6 0.7 1.2 1.5 1.4 1.3")
    press(at, "Store the twelve months")
    assert len(bare.records(Normal)) == 12

    assert "Two readings of the meter, a week apart, say what was used." in words(at)
    type_in(at, "Meter shows", "412730")
    press(at, "Store the reading")
    assert len(bare.records(MeterReading)) == 1
    assert "You have what a first month needs." in words(at)
    review = review_month(bare, "2026-07")
    assert review.zones[0].need.value is not None
    assert review.zones[0].need.value > 0


def test_people_and_the_frost_days_are_asked_with_why(bare: Book) -> None:
    at = steps()
    assert any(e.label.startswith("○  1. Who lives there") and e.proto.expanded for e in at.expander)
    assert "reminded to shut down before that day" in words(at)
    type_in(at, "People usually at home", "4")
    type_in(at, "Usual last day before hard frost", "10/20")
    press(at, "Store the household")
    assert "Expected its month and day, such as 10-20 for 20 October. Nothing was stored." in words(at)
    type_in(at, "Usual last day before hard frost", "10-20")
    type_in(at, "Usual first day of watering", "4-15")
    press(at, "Store the household")
    home = bare.home()
    assert (home.people, home.shutdown_due, home.startup_due) == (4, "10-20", "04-15")
    assert "Stored: 4 at home, hard frost after 20 October, watering from 15 April." in words(at)
    assert any(e.label.startswith("✓  1. Who lives there") for e in at.expander)


def test_a_household_that_is_right_as_it_stands_is_ticked_off_too(bare: Book) -> None:
    at = steps()
    press(at, "Store the household")
    assert any(e.label.startswith("✓  1. Who lives there") for e in at.expander)
    assert bare.number() == 1


def test_a_step_can_wait_and_the_next_opens(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    at.button(key="later-zones").click().run()
    assert not at.exception
    assert any("(later)" in e.label for e in at.expander)


def test_eleven_months_are_refused_and_kept(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    type_in(at, "Usual lowest", "20 24 32")
    press(at, "Store the twelve months")
    assert "3 numbers. Expected twelve" in words(at)
    assert next(t for t in at.text_input if t.label.startswith("Usual lowest")).value == "20 24 32"
    assert not bare.records(Normal)


def test_a_zone_without_plants_is_asked_for_in_words(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    type_in(at, "Name of the zone", "Front")
    press(at, "Store the zone")
    assert "Enter what grows there. Nothing was stored." in words(at)
    assert not bare.records(Zone)


def test_an_odd_width_and_flow_are_asked_about_before_the_zone_is_stored(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    type_in(at, "Name of the zone", "Hedge")
    next(s for s in at.selectbox if s.label == "Plants").set_value("shrub")
    type_in(at, "Width across one", "36")
    type_in(at, "How many emitters", "4")
    type_in(at, "Flow of one, gallons", "120")
    press(at, "Store the zone")
    assert "36 ft across is very wide" in words(at)
    assert "120 gph is very much for one emitter" in words(at)
    assert not bare.records(Zone)
    press(at, "Let me change it")
    type_in(at, "Width across one", "3")
    type_in(at, "Flow of one, gallons", "1")
    press(at, "Store the zone")
    assert [s.record.name for s in bare.records(Zone)] == ["Hedge"]


def test_the_page_stays_until_every_step_is_written_down_or_put_off(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    with bare.change("the rest of what a month needs") as change:
        change.add(Zone(code="bed", name="Bed", supply="water"))
        change.add(Normal(month=7, reference_et=Measured("186", "mm", "depth"), rain=Measured("0", "mm", "depth")))
    at.run()
    shown = [p.proto.label for p in at.get("page_link")]
    assert "First steps" in shown, "a reading, the price and the household are open"
    for key in ("home", "reading", "price"):
        at.button(key=f"later-{key}").click().run()
    assert "First steps" not in [p.proto.label for p in at.get("page_link")]


def test_a_pot_is_asked_for_its_own_width(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    type_in(at, "Name of the zone", "Tubs")
    next(s for s in at.selectbox if s.label == "Plants").set_value("herbs")
    type_in(at, "Width across one, feet", "2")
    at.checkbox(key="first-zone.0.pots").set_value(True)
    type_in(at, "soil in one pot", "5")
    press(at, "Store the zone")
    assert "Enter the width of one pot" in words(at)
    type_in(at, "width of one pot, inches", "14")
    press(at, "Store the zone")
    planting = bare.records(Planting)[0].record
    assert (str(planting.pot_width), str(planting.canopy), str(planting.pot)) == ("14 in", "2 ft", "5 gal")


def test_the_day_of_one_zone_is_offered_for_the_next(bare: Book) -> None:
    at = steps()
    type_in(at, "Usual first day of watering", "04-15")
    press(at, "Store the household")
    press(at, "Store the water")
    since = next(d for d in at.date_input if d.label == "It has been set and planted as written here since")
    assert since.value == date(2026, 4, 15), "the usual first day of watering"
    for name in ("Tubs", "Hedge"):
        type_in(at, "Name of the zone", name)
        next(s for s in at.selectbox if s.label == "Plants").set_value("shrub")
        type_in(at, "Width across one", "2")
        if name == "Tubs":
            next(d for d in at.date_input if d.label.startswith("It has been set")).set_value(date(2026, 5, 15))
        press(at, "Store the zone")
    assert {s.record.since for s in bare.records(Zone)} == {date(2026, 5, 15)}
    assert {s.record.since for s in bare.records(Planting)} == {date(2026, 5, 15)}


def test_one_undo_takes_the_whole_zone_back(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    type_in(at, "Name of the zone", "Tubs")
    next(s for s in at.selectbox if s.label == "Plants").set_value("shrub")
    type_in(at, "Width across one", "2")
    press(at, "Store the zone")
    assert bare.records(Planting)
    press(at, "Undo")
    assert not bare.records(Zone)
    assert not bare.records(Planting)
    assert not bare.records(Controller)


def test_a_price_is_told_with_its_currency_and_unit(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    type_in(at, "Price of one unit", "4,35")
    press(at, "Store the price")
    assert "Stored: $4.35 for each kgal, from 1 January 2026 on." in words(at)


def test_a_metric_home_is_asked_for_the_price_of_a_cubic_metre_in_its_money(bare: Book) -> None:
    with bare.change("as begun in Lisbon") as change:
        home = bare.home().model_copy(update={"display": "metric", "currency": "€", "timezone": "Europe/Lisbon"})
        change.correct(bare.records(Home)[0].id, home)
    at = steps()
    press(at, "Store the water")
    meter = bare.records(Meter)[0].record
    assert (meter.unit, str(meter.resolution), meter.digits) == ("m3", "0.001", 5), "five black digits and three red"
    assert next(s for s in at.selectbox if s.label == "Billing unit").value == "m3"
    assert next(t for t in at.text_input if t.label == "Currency sign").value == "€"
    type_in(at, "Price of one unit", "1,85")
    type_in(at, "Currency sign", "EUR ")
    press(at, "Store the price")
    assert "Stored: EUR1.85 for each m³, from 1 January 2026 on." in words(at)
    assert bare.home().currency == "EUR"
    press(at, "Undo")
    assert bare.home().currency == "€", "one action, one Undo"


def test_other_units_do_not_say_who_lives_there(bare: Book) -> None:
    at = steps()
    at.segmented_control(key="units").set_value("metric").run()
    assert bare.home().display == "metric"
    assert any(e.label.startswith("○  1. Who lives there") for e in at.expander)
    type_in(at, "People usually at home", "3")
    press(at, "Store the household")
    assert any(e.label.startswith("✓  1. Who lives there") for e in steps().expander), "in another session as well"


def test_a_controller_that_stays_on_winter_time_is_said_in_one_click(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    type_in(at, "Name of the zone", "Hedge")
    next(s for s in at.selectbox if s.label == "Plants").set_value("shrub")
    type_in(at, "Width across one", "3")
    next(c for c in at.checkbox if c.label.startswith("A new one is set to summer time")).uncheck()
    press(at, "Store the zone")
    assert not bare.records(Controller)[0].record.follows_dst


def test_what_draws_water_by_itself_is_asked_and_stands_where_the_garden_page_has_it(bare: Book) -> None:
    at = steps()
    asked = next(p for p in at.pills if p.label == "What draws water by itself, if anything")
    assert asked.value == []
    asked.set_value(["evaporative cooler", "softener"])
    press(at, "Store the household")
    assert bare.home().drinks == "evaporative cooler, softener", "words that the help of the home record names"
    assert "Stored: 2 at home, with evaporative (swamp) cooler and water softener." in words(at)
    press(at, "Undo")
    assert bare.home().drinks == ""


def test_what_somebody_wrote_in_words_of_their_own_stays_and_is_known(bare: Book) -> None:
    with bare.change("by hand") as change:
        drinks = {"drinks": "Swamp cooler, fish pond"}
        change.correct(bare.records(Home)[0].id, bare.home().model_copy(update=drinks))
    at = steps()
    asked = next(p for p in at.pills if p.label == "What draws water by itself, if anything")
    assert asked.value == ["evaporative cooler"]
    press(at, "Store the household")
    assert bare.home().drinks == "Swamp cooler, fish pond"
    asked = next(p for p in at.pills if p.label == "What draws water by itself, if anything")
    asked.set_value([])
    press(at, "Store the household")
    assert bare.home().drinks == "fish pond"


def test_a_soaker_hose_is_written_down_by_its_length(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    type_in(at, "Name of the zone", "Beans")
    next(s for s in at.selectbox if s.label == "Plants").set_value("vegetables")
    type_in(at, "or area of the bed", "40")
    type_in(at, "or length of the tubing, feet", "50")
    type_in(at, "Flow of one foot of it", "0.6")
    press(at, "Store the zone")
    assert "A length goes with tubing: choose soaker hose or tubing or tubing with emitters inside." in words(at)
    next(s for s in at.selectbox if s.label == "They are").set_value("soaker")
    press(at, "Store the zone")
    group = bare.records(EmitterGroup)[0].record
    assert (group.device, str(group.length), str(group.flow_along)) == ("soaker", "50 ft", "0.6 gph per ft")


def test_a_unit_may_stand_with_the_number(bare: Book) -> None:
    """1 m is 1 m in a book of gallons and feet as well; a wrong unit is refused."""
    at = steps()
    press(at, "Store the water")
    type_in(at, "Name of the zone", "Hedge")
    next(s for s in at.selectbox if s.label == "Plants").set_value("shrub")
    type_in(at, "Width across one, feet", "3 gal")
    press(at, "Store the zone")
    assert "“gal” is not a unit here. Expected m, ft, in, cm." in words(at)
    type_in(at, "Width across one, feet", "36 inches")
    type_in(at, "How many emitters", "4")
    type_in(at, "Flow of one, gallons", "2 L/h")
    press(at, "Store the zone")
    assert str(bare.records(Planting)[0].record.canopy) == "36 in"
    assert str(bare.records(EmitterGroup)[0].record.flow_each) == "2 L/h"


def test_the_day_from_which_a_price_holds_is_shown_and_can_be_changed(bare: Book) -> None:
    at = steps()
    press(at, "Store the water")
    since = next(d for d in at.date_input if d.label == "It holds since")
    assert since.value == date(2026, 1, 1)
    assert "Taken as 1 January of this year unless you know the day." in words(at)
    since.set_value(date(2025, 7, 1))
    type_in(at, "Price of one unit", "4.35")
    press(at, "Store the price")
    assert "Stored: $4.35 for each kgal, from 1 July 2025 on." in words(at)
    assert bare.records(Tariff)[0].record.since == date(2025, 7, 1)


def test_another_number_of_people_is_asked_since_when_once_there_are_readings(opened: Open, garden: Book) -> None:
    at = opened("steps")
    next(t for t in at.text_input if t.label == "People usually at home").input("4")
    press(at, "Store the household")
    assert garden.home().people == 2, "nothing before it is answered"
    at.date_input(key="since-when-day").set_value(date(2026, 7, 12))
    press(at, "From that day on")
    rows = [(s.record.since, s.record.until, s.record.people) for s in garden.records(Household)]
    assert (garden.home().people, rows) == (4, [(date(2026, 7, 1), date(2026, 7, 12), 2)])
