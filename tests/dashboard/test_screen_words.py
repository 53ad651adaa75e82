"""Words and numbers of the screen."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pandas as pd
import pytest

from core.book.kinds import Bill, Home, Measured, Program, Tariff
from core.figures import Figure, Line
from core.review.spoken import amount, counted, line_value, listed
from dashboard.parts.describe import described
from dashboard.parts.drawing import rows_html
from dashboard.words import article, finding_words, label, likely, missed_words, month_words, plain, reach_words, yearly
from tests.dashboard import invented


@pytest.mark.parametrize(
    ("value", "quantity", "words"),
    [
        (3785.411784, "volume", "1,000 gal"),  # 1 US gal = 3.785411784 L (NIST Handbook 44)
        (25.4, "depth", "1.00 in"),
        (-12.346, "money", "−$12.35"),
        (0.0, "money", "$0.00"),
        (1, "days", "1 day"),
        (19, "days", "19 days"),
        (0.414, "share", "41 %"),
        (None, "volume", "not known"),
        (float("nan"), "days", "not known"),
    ],
)
def test_amounts(value: float | None, quantity: str, words: str) -> None:
    assert amount(value, quantity, "us", "$") == words


def test_a_range_is_told_only_where_there_is_one() -> None:
    assert likely(Figure(100.0, "volume", 90.0, 110.0), "metric") == "likely 90 to 110 L"
    assert likely(Figure(-5.0, "volume", -10.0, 5.0), "metric") == "likely −10 to 5 L"
    assert likely(Figure(2.0, "days", 1.0, 3.0), "metric") == "likely 1 day to 3 days"
    assert likely(Figure(2.0, "money", 1.0, 3.0), "metric", "€") == "likely €1.00 to €3.00"
    assert likely(Figure(100.0, "volume"), "metric") == ""
    assert likely(Figure(100.0, "volume", 99.9, 100.1), "metric") == ""


@pytest.mark.parametrize(
    ("days", "words"),
    [
        ("every 3 from 2026-09-08", "Hedge, program a: every 3 days at 05:00 and 17:30, 20 min each"),
        ("mon fri", "Hedge, program a: Mon, Fri at 05:00 and 17:30, 20 min each"),
    ],
)
def test_a_program_is_told_in_words_and_not_in_the_notation_it_is_kept_in(days: str, words: str) -> None:
    program = Program(zone="hedge", since=date(2026, 9, 8), days=days, starts="05:00 17:30", minutes=20)
    assert described(program, {"zone": {"hedge": "Hedge"}}) == words


def test_a_day_of_every_year() -> None:
    assert yearly("10-20") == "20 October"
    assert yearly("02-29") == "29 February"
    assert yearly("when the leaves fall") == "when the leaves fall"


def test_a_line_of_a_working_is_told_in_the_readers_unit() -> None:
    assert line_value(Line("rain", 12.7, "mm"), "us") == "0.50 in"
    assert line_value(Line("factor", 0.65), "us") == "0.65"
    assert line_value(Line("text", "as read", ""), "us") == "as read"
    assert line_value(Line("price", 4.5, "money"), "us", "€") == "€4.50"


def test_typed_text_is_escaped_letter_for_letter() -> None:
    assert plain("*bold* <b> [x](y) $1$ :red[z]") == r"\*bold\* \<b\> \[x\]\(y\) \$1\$ \:red\[z\]"


def test_a_label_keeps_what_is_read_aloud_plain() -> None:
    """Streamlit reads the raw label aloud (aria-label), so only what would change its look is escaped."""
    assert label("Start times (05:00 20:30; to 4: 3.65)") == "Start times (05:00 20:30; to 4: 3.65)"
    assert label("Meter *x* :red[y]") == r"Meter \*x\* \:red\[y\]"


def test_small_words() -> None:
    assert counted(1, "day") == "1 day"
    assert counted(2, "person", "people") == "2 people"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert listed([]) == ""
    assert month_words("2026-07") == "July 2026"
    assert article("emitter group") == "an emitter group"


def test_a_finding_is_named_with_its_zone_or_with_all_that_cannot_be_told_apart() -> None:
    names = {"hedge": "quince hedge", "tubs": "tubs"}
    assert finding_words(invented.finding(), names) == "Quince hedge: a valve that did not close"
    several = invented.finding(group=("hedge", "tubs"))
    assert finding_words(several, names) == "Quince hedge or tubs: a valve that did not close"
    all_of = invented.finding(kind="not_delivered", zone=None, group=("hedge", "tubs"))
    assert finding_words(all_of, names) == "Quince hedge and tubs: runs that brought no water"
    assert (
        finding_words(invented.finding(kind="one_off", zone=None, group=()), names) == "One large use nobody wrote down"
    )


def test_rows_of_a_wide_table_carry_their_columns_names_and_stay_text() -> None:
    """On a phone each row stands by itself: no cell loses its meaning, and what was typed is never markup."""
    table = pd.DataFrame([{"Plants": "<b>Mint</b>", "Given": "12 gal", "Type": ""}])
    html = rows_html(table)
    assert "<strong>&lt;b&gt;Mint&lt;/b&gt;</strong>" in html
    assert "<dt>Given</dt><dd>12 gal</dd>" in html
    assert "Type" not in html


@pytest.mark.parametrize(
    ("through", "said"),
    [
        (None, "No use is metered in this month"),
        (datetime(2026, 7, 29, 6, tzinfo=UTC), "Metered through 29 July 2026, 00:00; later days"),
        (datetime(2026, 8, 1, 5, 59, tzinfo=UTC), ""),
    ],
)
def test_how_far_the_meter_speaks_is_by_the_clock_of_the_home(through: datetime | None, said: str) -> None:
    found = reach_words(invented.month(metered_through=through))
    assert found.startswith(said)
    assert bool(found) is bool(said)


MADRID = {"supply": {"red": "Street main"}, "home": {"currency": "€"}}


@pytest.mark.parametrize(
    ("over", "words"),
    [
        (
            {},
            "Street main: base €24.60 every 3 months; then per m³ €0.55 up to 15, €1.10 up to 30, €1.90 beyond 30; "
            "sewer €0.42 per m³ of use",
        ),
        (
            {"prices": "0.00385", "unit": "l", "period_months": "1", "included": 200, "sewer_follows": "none"},
            "Street main: base €24.60 each month with 200 L; then per L €0.00385",
        ),
        (
            {"prices": "1.5", "sewer_base": 4, "sewer_price": 0, "sewer_follows": "winter"},
            "Street main: base €24.60 every 3 months; then per m³ €1.50; sewer base €4.00",
        ),
    ],
)
def test_a_water_price_is_told_with_its_currency_and_its_sewer_charge(over: dict[str, Any], words: str) -> None:
    told = {"supply": "red", "since": date(2024, 1, 1), "period_months": "3", "unit": "m3", "base": 24.6}
    told |= {"prices": "to 15: 0.55 / to 30: 1.10 / rest: 1.90", "sewer_price": 0.42, "sewer_follows": "use"}
    assert described(Tariff(**(told | over)), MADRID) == words


def test_a_bill_and_the_home_are_told_with_what_each_figure_is() -> None:
    volume = Measured("31", "m3", "volume")
    bill = Bill(supply="red", since=date(2024, 1, 1), until=date(2024, 4, 1), volume=volume, amount=64.27)
    assert described(bill, MADRID) == "Street main: €64.27 for 31 m³, 1 January 2024 to 1 April 2024"
    assert "red: 64.27 for" in described(bill, {}), "without a sign none is made up"
    home = Home(name="The orchard", latitude=39.6, longitude=-0.5, timezone="Europe/Madrid", display="metric", people=3)
    home = home.model_copy(update={"currency": "€", "shutdown_due": "11-30", "startup_due": "03-01"})
    assert described(home, {}) == (
        "The orchard: 39.6° north, 0.5° west; 0 m above the sea; clock of Europe/Madrid; shown in litres and "
        "millimetres; 3 people usually at home; money in €; usual last day before hard frost 30 November; usual first "
        "day of watering 1 March"
    )


def test_the_tile_of_missed_days_says_what_the_sentence_says() -> None:
    unsure = Figure(23, "days", working=(Line("Hedge", 23, "days", ""), Line("Tubs", 20, "days", "")))
    august = invented.month(missed=Figure(8, "days"), unvouched=unsure)
    assert missed_words(august) == "known missed; on 23 more days nobody can vouch for every zone"
    alone = Figure(29, "days", working=(Line("Porch pots", 29, "days", ""),))
    july = invented.month(missed=Figure(0, "days"), unvouched=alone)
    assert missed_words(july) == "known missed; on 29 days nobody can vouch for Porch pots"
    assert missed_words(invented.month(missed=Figure(8, "days"), unvouched=Figure(0, "days"))) == "known missed"
    assert missed_words(invented.month(missed=Figure(0, "days"), unvouched=Figure(0, "days"))) == ""


@pytest.mark.parametrize(
    ("said", "held"),
    [
        ("About 6,996 L passed.", "About 6,996\u00a0L passed."),
        ("12 to 15 gal, 4.2 gph while it lasts", "12 to 15\u00a0gal, 4.2\u00a0gph while it lasts"),
        ("30.5 m² of bed, 4 ft² of it wet", "30.5\u00a0m² of bed, 4\u00a0ft² of it wet"),
        ("0.85 L/h per m at 20 °C, 85 %", "0.85\u00a0L/h per m at 20\u00a0°C, 85\u00a0%"),
        ("1.00 in of rain on 12 June 2026 in the night", "1.00\u00a0in of rain on 12 June 2026 in the night"),
        ("3 days, 2 Laurels, 5 minutes", "3 days, 2 Laurels, 5 minutes"),
    ],
)
def test_a_number_stays_on_one_line_with_its_unit(said: str, held: str) -> None:
    assert plain(said).replace("\\", "") == held
