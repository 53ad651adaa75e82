"""The month, the meter and the plants: real content from the book, units for the whole screen, decisions."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import pytest
from streamlit.testing.v1 import AppTest

from core.book.kinds import Decision, MeterReading, OtherUse
from core.book.store import Book
from core.days import parse_moment
from tests.dashboard.conftest import DENVER, Open, words


def metric(at: AppTest, label: str) -> str:
    return next(str(m.value) for m in at.metric if m.label.replace("\\", "") == label)


def specs(at: AppTest) -> list[dict[str, object]]:
    return [json.loads(c.proto.spec) for c in at.get("vega_lite_chart")]


def spike(book: Book) -> None:
    """Three months of quiet readings, 100 gallons a day, and one day of 900 more."""
    with book.change("many readings") as change:
        for stored in change.records(MeterReading):
            change.remove(stored.id, MeterReading)
        register = 300_000
        for day in range(120):
            moment = parse_moment(f"{date.fromordinal(date(2026, 3, 22).toordinal() + day)} 07:00", DENVER)
            change.add(MeterReading(meter="curb", at=moment, register_value=Decimal(register)))
            register += 100 + 3 * (day % 5) + (900 if day == 108 else 0)


def test_the_month_opens_with_a_sentence_figures_and_charts(opened: Open) -> None:
    at = opened("month")
    assert at.header[0].value == "July 2026"
    said = words(at)
    assert "came through the meter" in said
    assert metric(at, "Water used").endswith("gal")
    assert len(specs(at)) == 3
    assert all(len(str(spec["description"])) > 40 for spec in specs(at))
    assert "Quince *hedge*" in said, "names stand as they were typed"


def test_used_is_the_difference_of_the_registers(opened: Open, garden: Book) -> None:
    """Readings every other day rise by 260 gal, from 1 July 07:00 to 19 July 07:00: 9 steps, 2,340 gal.

    The days before 1 July 07:00 and after 19 July 07:00 are not metered, so the figure is the metered part."""
    at = opened("month")
    used = int(metric(at, "Water used").split()[0].replace(",", ""))
    assert used == pytest.approx(2340, abs=2)


def test_every_headline_figure_opens_its_working(opened: Open) -> None:
    at = opened("month")
    assert at.get("popover"), "no figure opens its working"
    assert any("From" in table.value.columns for table in at.table)


def test_units_change_on_the_whole_screen_at_once(opened: Open) -> None:
    at = opened("month")
    gallons = float(metric(at, "Water used").split()[0].replace(",", ""))
    at.segmented_control(key="units").set_value("metric").run()
    assert not at.exception
    litres = float(metric(at, "Water used").split()[0].replace(",", ""))
    assert litres == pytest.approx(gallons * 3.785411784, rel=0.001)  # US gallon (NIST Handbook 44)
    assert " gal" not in words(at)
    axis = specs(at)[0]["layer"][0]["encoding"]["y"]["title"]  # type: ignore[index]
    assert axis == "L a day"


def test_the_month_is_changed_by_list_by_step_and_by_address(opened: Open) -> None:
    at = opened("month", month="2026-06")
    assert at.header[0].value == "June 2026"
    at.button(key="month-later").click().run()
    assert at.header[0].value == "July 2026"
    assert at.query_params["month"] == "2026-07"
    assert at.button(key="month-later").disabled


def test_a_month_that_is_none_is_a_sentence(opened: Open) -> None:
    at = opened("month", month="2026-13")
    assert "is not a month" in words(at)
    at = opened("month", month="2031-01")
    assert "has not begun" in words(at)


def test_a_spike_is_named_and_logged_as_other_use_in_one_step(opened: Open, garden: Book) -> None:
    spike(garden)
    at = opened("month")
    assert "What it may have been" in [s.value for s in at.subheader]
    what = next(t for t in at.text_input if t.label == "What was it for?")
    much = next(t for t in at.text_input if t.label.startswith("How much"))
    assert float(much.value) == pytest.approx(900, rel=0.1)
    what.input("filled the *pond*")
    next(b for b in at.button if b.label == "Store as other use").click().run()
    assert not at.exception
    use = garden.latest(OtherUse, 1)[0].record
    assert (use.what, use.meter) == ("filled the *pond*", "curb")
    assert garden.latest(Decision, 1)[0].record.verdict == "explained"
    assert garden.latest(OtherUse, 1)[0].change_set == garden.latest(Decision, 1)[0].change_set


def test_a_use_nobody_wrote_down_is_a_question_settled_by_one_button(opened: Open, garden: Book) -> None:
    spike(garden)
    at = opened("month")
    said = words(at).replace("**", "")
    assert "Did you fill or wash something?" in said
    assert "Did you fill or wash something between 8 July and 9 July? About 9" in said, "and in what to do next"
    at.button(key="uses-yes").click().run()
    assert not at.exception
    use, decision = garden.latest(OtherUse, 1)[0], garden.latest(Decision, 1)[0]
    assert (use.record.what, decision.record.verdict) == ("filled or washed something", "explained")
    assert float(use.record.volume.typed) == pytest.approx(900, rel=0.1)
    assert use.change_set == decision.change_set
    assert not any(b.key == "uses-yes" for b in at.button)
    next(b for b in at.button if b.label == "Undo").click().run()
    at.button(key="uses-let-be").click().run()
    assert garden.latest(Decision, 1)[0].record.verdict == "harmless"
    assert not garden.records(OtherUse)


def test_a_decision_is_written_and_undone(opened: Open, garden: Book) -> None:
    spike(garden)
    at = opened("month")
    next(b for b in at.button if b.label == "Harmless").click().run()
    decided = garden.latest(Decision, 1)[0].record
    assert (decided.finding, decided.verdict, decided.meter) == ("one_off", "harmless", "curb")
    next(b for b in at.button if b.label == "Undo").click().run()
    assert not garden.records(Decision)


def test_the_meter_page_tells_intervals_baseline_delivery_and_what_could_hide(opened: Open) -> None:
    at = opened("meter")
    said = words(at)
    assert "Metered through 19 July 2026, 07:00" in said
    assert "Indoors about" in said
    assert {"What the zones really take", "What could hide", "Where it went"} <= {s.value for s in at.subheader}
    assert len(specs(at)) == 2
    assert any("Of the flow on paper" in t.value.columns for t in at.table)


def test_the_plants_page_tells_each_planting(opened: Open) -> None:
    at = opened("plants")
    told = " ".join(str(spec["description"]) for spec in specs(at))
    assert "how much water is missing from the soil" in told
    assert "Reference ET by day" in told
    table = next(t.value for t in at.table if "Days short" in t.value.columns)
    assert [cell.replace("\\", "") for cell in table["Plants"]] == ["Quince *hedge*: Quinces"]


def test_one_reading_is_told_as_one_not_as_none(opened: Open, garden: Book) -> None:
    with garden.change("all but the first") as change:
        for stored in change.records(MeterReading)[1:]:
            change.remove(stored.id, MeterReading)
    said = "One meter reading is in the book; use is known from the second on."
    assert said in words(opened("meter"))
    month = words(opened("month"))
    assert f"July 2026: {said[:1].lower()}{said[1:]}" in month
    assert "covers this month" not in month


def test_an_empty_book_says_what_to_write_down_first(opened: Open, garden: Book) -> None:
    with garden.change("emptied") as change:
        for stored in change.records(MeterReading):
            change.remove(stored.id, MeterReading)
    at = opened("meter")
    assert "No meter reading covers this month." in words(at)


def test_any_reading_of_the_month_is_put_right_or_removed_on_the_meter_page(opened: Open, garden: Book) -> None:
    at = opened("meter")
    box = next(s for s in at.selectbox if s.label == "Put one of them right")
    first = garden.records(MeterReading)[-6]
    box.set_value(next(o for o in box.options if f"{first.record.register_value:,}" in o)).run()
    next(t for t in at.text_input if t.label.startswith("Register")).input("4")
    next(b for b in at.button if b.label == "Store it put right").click().run()
    assert "lower than the last reading" in words(at)
    next(t for t in at.text_input if t.label.startswith("Register")).input(str(first.record.register_value + 1))
    next(b for b in at.button if b.label == "Store it put right").click().run()
    assert not at.exception
    assert garden.get(MeterReading, first.id).record.register_value == first.record.register_value + 1
    assert next(s for s in at.selectbox if s.label == "Put one of them right").value is None


def saved_tile() -> None:
    from dataclasses import replace

    from core.figures import Figure
    from dashboard.parts.figure import figure_tile
    from dashboard.words import saved_words
    from tests.core.cli.test_reviewing import july

    for litres, low, high, money in ((-1364.0, -1500.0, -1200.0, -2.07), (1364.0, 1200.0, 1500.0, 2.07)):
        month = replace(july(), saved=Figure(litres, "volume", low, high), saved_money=Figure(money, "money"))
        label, figure, extra = saved_words(month, "metric")
        figure_tile(label, figure, "metric", "$", extra)


def test_more_than_sprinklers_is_no_negative_saving() -> None:
    at = AppTest.from_function(saved_tile).run()
    assert not at.exception
    assert [(m.label, m.value) for m in at.metric] == [("More than sprinklers", "1,364 L"), ("Saved", "1,364 L")]
    more, less = (c.value.replace("\\", "").replace("\xa0", " ") for c in at.caption)
    assert more == "likely 1,200 to 1,500 L  \noverhead, for the same plants; it cost $2.07"
    assert less == "likely 1,200 to 1,500 L  \nagainst overhead sprinklers, worth $2.07"


def test_a_month_that_still_runs_is_not_called_whole(garden: Book, opened: Open) -> None:
    """The fixture's present is 20 July, 18:00, and a reading of the 20th covers that day so far."""
    at_night = parse_moment("2026-07-20 18:00", garden.zone_info)
    with garden.change("read the meter") as change:
        change.add(MeterReading(meter="curb", at=at_night, register_value=Decimal(414_700)))
    said = words(opened("meter"))
    assert "The meter speaks of the month so far, to 20 July 2026." in said


def test_late_in_the_evening_care_is_as_late_as_that_day(
    opened: Open, garden: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fixture's shutdown is due on 20 October; at 23:20 on the 25th it is five days late, not six."""
    monkeypatch.setenv("RILLBOOK_AS_OF", "2026-10-25T23:20:00-06:00")
    monkeypatch.setenv("RILLBOOK_MONTH", "2026-10")
    steps = [link.proto.label.replace("\\", "") for link in opened("month").get("page_link")]
    assert "Shut the system down for winter: 5 days past 20 October, the usual day." in steps
