"""Cells: what is written reads back to the same value, and no cell starts a formula."""

from __future__ import annotations

from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.book.kinds import KINDS, MeterReading, Rain, fields_of
from core.exchange.cells import columns_of, kept_from_formula, plain_number, read_column, shown_text
from core.exchange.clock import Refused, WallClock
from core.units import quantity

DENVER = WallClock(ZoneInfo("America/Denver"))
# The characters OWASP's page on CSV injection names, and those it warns about in other scripts.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def read(kind: str, header: str, text: str) -> Any:
    return read_column(columns_of(KINDS[kind])[header], [text], DENVER)[text]


@given(st.text(max_size=40))
def test_a_text_kept_from_starting_a_formula_reads_back_as_it_was(text: str) -> None:
    written = kept_from_formula(text)
    assert not written.startswith(FORMULA_STARTS)
    assert shown_text(written) == text


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("=1+1", "'=1+1"),
        ("'=1+1", "''=1+1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("-", "'-"),
        ("'", "''"),
        ("it's", "it's"),
        ("'quoted'", "'quoted'"),
        ("main valve", "main valve"),
    ],
)
def test_only_what_would_run_is_marked(text: str, written: str) -> None:
    assert kept_from_formula(text) == written


@pytest.mark.parametrize("kind", KINDS)
def test_no_column_name_stands_for_two_fields(kind: str) -> None:
    """The unit suffix of one field must not make the name of another: wind_height as a unit of wind would."""
    fields = fields_of(KINDS[kind])
    wanted = sum(len(quantity(f.cell.quantity).units) if f.cell.form == "measured" else 1 for f in fields)
    assert len(columns_of(KINDS[kind])) == wanted


def test_units_with_an_underscore_are_read_whole() -> None:
    assert {"flow_along_gph_ft", "flow_along_lph_m"} <= columns_of(KINDS["emitter_group"]).keys()
    assert columns_of(KINDS["emitter_group"])["flow_along_gph_ft"].unit == "gph_ft"
    assert columns_of(KINDS["weather"])["solar_mj_m2"].unit == "mj_m2"
    assert columns_of(KINDS["metered_use"])["volume_imp_gal"].unit == "imp_gal"


@pytest.mark.parametrize(
    ("text", "value"),
    [("yes", True), ("No", False), ("TRUE", True), ("false", False), ("1", True), ("0", False), ("y", True)],
)
def test_yes_and_no_in_the_usual_spellings(text: str, value: bool) -> None:
    assert read("rain", "trace", text) is value


def test_a_measured_cell_keeps_its_digits_and_its_unit() -> None:
    rain = read("rain", "rain_in", "0,350")
    assert (rain.typed, rain.unit) == ("0.350", "in")
    assert rain.base == pytest.approx(8.89)  # 1 in is 25.4 mm, NIST SP 811


def test_a_register_that_could_be_read_two_ways_is_refused_with_both() -> None:
    refused = read("meter_reading", "register_value", "1,234")
    assert isinstance(refused, Refused)
    assert "1234 or 1.234" in refused.expected
    assert "two ways" in refused.expected
    assert read("meter_reading", "register_value", "1,234.5") == Decimal("1234.5")
    assert read("meter_reading", "register_value", "0012340") == 12340


@pytest.mark.parametrize(
    ("kind", "header", "text", "expected"),
    [
        ("rain", "rain_in", "a lot", "a number such as 12.5 (unit: in)"),
        ("rain", "trace", "perhaps", "yes or no"),
        ("household", "people", "2.5", "a whole number"),
        ("meter_reading", "how", "eyes", "one of eye, bill, file, estimated, perhaps eye"),
        ("weather", "day", "14/07/2026", "a day such as 2026-07-14"),
        ("weather", "day", "0226-07-14", "in a year from 1700"),
        ("rain", "start", "last night", "a date such as 2026-07-14"),
        ("rain", "start", "2026-02-30 07:00", "that exists"),
        ("rain", "start", "2026-03-08 02:30", "clocks jumped over"),
        ("rain", "start", "2026-07-14 07:00+99:99", "a date such as"),
        ("rain", "start", "9999-12-31 23:59", "a date such as"),
        ("program", "days", "noonday", "daily, mon wed fri"),
        ("program", "starts", "5 o'clock", "05:00 or 05:00 20:30"),
        ("bill", "amount", "9" * 16, "at most 15 digits"),
    ],
)
def test_what_is_expected_is_said(kind: str, header: str, text: str, expected: str) -> None:
    refused = read(kind, header, text)
    assert isinstance(refused, Refused), refused
    assert expected in refused.expected


def test_an_empty_cell_is_the_default_and_an_apostrophe_is_empty_on_purpose() -> None:
    assert read("home", "currency", "") == "$"
    assert read("home", "currency", "'") == ""
    assert read("meter_reading", "resolution", " ") is None
    assert isinstance(read("meter_reading", "register_value", ""), Refused)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_is_written_exactly_and_without_exponent(value: float) -> None:
    text = plain_number(value)
    assert "e" not in text.lower()
    assert float(text) == value


def test_the_columns_of_a_sheet_are_the_fields_of_its_kind() -> None:
    assert list(columns_of(Rain)) == ["gauge", "start", "end", "rain_mm", "rain_in", "rain_cm", "trace"]
    assert list(columns_of(MeterReading))[:3] == ["meter", "at", "register_value"]
