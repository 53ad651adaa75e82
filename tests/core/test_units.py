"""Quantities: exact definitions, typed numbers, what is shown."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from core.errors import EntryError
from core.units import (
    QUANTITIES,
    amount_and_unit,
    from_base,
    parse_number,
    register_text,
    show,
    spanned,
    to_base,
    unit_named,
    volume_symbol,
)

# Source of the expected values: scipy.constants (CODATA / NIST SP 811), an implementation apart from ours.
BY_SCIPY = [
    ("1", "in", "depth", constants.inch * 1000),
    ("1", "gal", "volume", constants.gallon_US * 1000),
    ("1", "imp_gal", "volume", constants.gallon_imp * 1000),
    ("1", "ft3", "volume", constants.foot**3 * 1000),
    ("1", "ccf", "volume", 100 * constants.foot**3 * 1000),
    ("1", "gpm", "flow", constants.gallon_US * 1000 * 60),
    ("1", "ft2", "area", constants.foot**2),
    ("1", "ft", "length", constants.foot),
    ("1", "psi", "pressure", constants.psi / 1000),
    ("1", "bar", "pressure", constants.bar / 1000),
    ("1", "mph", "speed", constants.mph),
    ("1", "kmh", "speed", constants.kmh),
    ("77", "f", "temperature", 25.0),
    ("-40", "f", "temperature", -40.0),
]


@pytest.mark.parametrize(("typed", "unit", "quantity", "expected"), BY_SCIPY)
def test_a_unit_means_what_the_standard_says(typed: str, unit: str, quantity: str, expected: float) -> None:
    assert to_base(typed, unit, quantity) == pytest.approx(expected, rel=1e-12, abs=1e-9)


def test_a_millimetre_on_a_square_metre_is_a_litre() -> None:
    """1 in on 1000 ft2 is 623.376623 gal (144/231 gal per ft2 and inch, arithmetic of the exact definitions)."""
    litres = to_base("1", "in", "depth") * to_base("1000", "ft2", "area")
    assert from_base(litres, "gal", "volume") == pytest.approx(623.376623376623, abs=1e-6)


@pytest.mark.parametrize(
    ("typed", "number"),
    [("12.5", "12.5"), ("12,5", "12.5"), ("1,234.5", "1234.5"), ("1.234,5", "1234.5"), (" 1 234 ", "1234"),
     ("1,234,567", "1234567"), ("-3", "-3"), ("0,125", "0.125"), (".5", ".5")],
)  # fmt: skip
def test_numbers_are_read_with_comma_or_point(typed: str, number: str) -> None:
    assert parse_number(typed) == Decimal(number)


@pytest.mark.parametrize("typed", ["1,234", "12,345", "1.2.3", "12 gal", "", "nan", "1e5", "٣٤x"])
def test_what_is_doubtful_or_no_number_is_refused_with_the_text_in_the_sentence(typed: str) -> None:
    with pytest.raises(EntryError) as refused:
        parse_number(typed)
    assert typed in str(refused.value)


@given(
    st.sampled_from([(q.name, u) for q in QUANTITIES.values() for u in q.units]),
    st.decimals(min_value=-1000, max_value=1_000_000, places=4),
)
def test_there_and_back_is_the_same(unit: tuple[str, str], value: Decimal) -> None:
    quantity, code = unit
    assert from_base(to_base(value, code, quantity), code, quantity) == pytest.approx(float(value), rel=1e-9, abs=1e-6)


def test_the_reader_sees_the_unit_asked_for() -> None:
    assert show(3785.411784, "volume", "us") == "1,000 gal"
    assert show(3785.411784, "volume", "metric") == "3,785 L"
    assert show(-38.0, "volume", "us") == "−10 gal"
    assert show(-0.001, "volume", "us") == "0 gal"
    assert show(None, "volume", "us") == "not known"
    assert show(float("nan"), "depth", "us") == "not known"


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [("12 gal", "15 gal", "12 to 15 gal"), ("−2 imp gal", "3 imp gal", "−2 to 3 imp gal"), ("$3", "$4", "$3 to $4"),
     ("1 day", "3 days", "1 day to 3 days")],
)  # fmt: skip
def test_a_range_says_its_unit_once(low: str, high: str, words: str) -> None:
    assert spanned(low, high) == words


@pytest.mark.parametrize(
    ("value", "step", "text"),
    [
        (Decimal("1384.317"), Decimal("0.001"), "1,384.317"),
        (Decimal("1384.31"), Decimal("0.001"), "1,384.310"),  # three red digits are three digits
        (1384.3, 0.001, "1,384.300"),
        (Decimal("412350"), Decimal(10), "412,350"),
        (Decimal("412350.5"), Decimal(1), "412,350.5"),  # more was typed than the step has
        (Decimal("1E+3"), Decimal("1E+2"), "1,000"),
    ],
)
def test_a_register_is_written_as_its_face_shows_it(value: Decimal | float, step: Decimal | float, text: str) -> None:
    assert register_text(value, step) == text


def test_a_half_is_rounded_up_as_a_person_does() -> None:
    """One litre in eight hours is 0.125 L/h, which is no 0.12; 2.5 is 3; 0.125 in is 0.13 in."""
    assert show(0.125, "flow", "metric", 2) == "0.13 L/h"
    assert show(2.5, "volume", "metric") == "3 L"
    assert show(-2.5, "volume", "metric") == "−3 L"
    assert show(3.175, "depth", "us") == "0.13 in"
    assert show(1e30, "volume", "metric").endswith(" L")


def test_a_unit_of_volume_is_written_in_one_way() -> None:
    assert [volume_symbol(unit) for unit in ("m3", "ft3", "imp_gal", "gal")] == ["m³", "ft³", "imp gal", "gal"]


@pytest.mark.parametrize(
    ("typed", "quantity", "code"),
    [
        ("2400 ft", "length", "ft"),
        ("2400ft.", "length", "ft"),
        ("2400 Feet", "length", "ft"),
        ("730 m", "length", "m"),
        ("730 metres", "length", "m"),
        ("40 sq ft", "area", "ft2"),
        ("12,5 gallons", "volume", "gal"),
        ("0.35 in", "depth", "in"),
        ("1.5 gal/h", "flow", "gph"),
        ("2 L/h", "flow", "lph"),
        ("0.6 gph per ft", "line_flow", "gph_ft"),
    ],
)
def test_a_unit_may_be_written_behind_its_number(typed: str, quantity: str, code: str) -> None:
    assert unit_named(amount_and_unit(typed)[1], quantity) == code


def test_a_word_that_is_no_unit_of_the_quantity_comes_back() -> None:
    assert unit_named("gallons", "length") == "gallons"
    assert amount_and_unit("2400") == ("2400", "")
    with pytest.raises(EntryError, match="not an amount"):
        amount_and_unit("about ten")
