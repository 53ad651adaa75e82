"""Money: billing periods on a calendar, bills by hand, parts that add up. Published bills are in tests/published."""

from __future__ import annotations

from datetime import date
from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.accounts.money import bill, cost_of, cost_of_days, leak_credit, period_bill, tariff_versions, winter_average
from core.accounts.periods import billing_periods
from tests.core.accounts.frames import GALLON_L, table

KGAL = 1000 * GALLON_L


def tariff(*rows: dict[str, Any]) -> pd.DataFrame:
    base = {
        "supply": "city",
        "since": "2026-01-01",
        "unit": "kgal",
        "base": 10.0,
        "prices": "to 2: 3 / to 5: 5 / rest: 9",
    }
    return table("tariff", *({**base, **r} for r in (rows or [{}])))


def row(**changes: Any) -> dict[Any, Any]:
    return tariff(changes).to_dict("records")[0]


def daily(first: str, last: str, kgal_a_day: float) -> pd.Series:
    days = pd.date_range(first, last)
    return pd.Series(kgal_a_day * KGAL, index=days)


def periods(tariffs: pd.DataFrame, first: date, last: date) -> list[tuple[str, str]]:
    return [(f"{a:%Y-%m-%d}", f"{b:%Y-%m-%d}") for a, b in billing_periods(tariffs, first, last)]


def test_monthly_periods_from_a_day_of_the_month() -> None:
    found = periods(tariff({"first_day": 15}), date(2026, 3, 1), date(2026, 3, 31))
    assert found == [("2026-02-15", "2026-03-15"), ("2026-03-15", "2026-04-15")]


@pytest.mark.parametrize(
    ("months", "expected"),
    [
        ("2", [("2026-04-01", "2026-06-01"), ("2026-06-01", "2026-08-01")]),
        ("3", [("2026-05-01", "2026-08-01")]),
        ("12", [("2026-02-01", "2027-02-01")]),
    ],
)
def test_longer_periods_count_from_the_month_the_tariff_began(months: str, expected: list[tuple[str, str]]) -> None:
    assert (
        periods(tariff({"since": "2026-02-01", "period_months": months}), date(2026, 5, 20), date(2026, 6, 10))
        == expected
    )


def test_a_price_change_does_not_move_the_periods() -> None:
    both = tariff(
        {"since": "2026-01-01", "until": "2026-05-20", "period_months": "3"},
        {"since": "2026-05-20", "period_months": "3"},
    )
    assert periods(both, date(2026, 4, 1), date(2026, 8, 1)) == [
        ("2026-04-01", "2026-07-01"),
        ("2026-07-01", "2026-10-01"),
    ]


def test_a_change_of_period_length_begins_new_periods() -> None:
    both = tariff({"since": "2026-01-01", "until": "2026-05-01", "period_months": "3"}, {"since": "2026-05-01"})
    assert periods(both, date(2026, 3, 1), date(2026, 6, 1)) == [
        ("2026-01-01", "2026-04-01"),
        ("2026-04-01", "2026-05-01"),
        ("2026-05-01", "2026-06-01"),
        ("2026-06-01", "2026-07-01"),
    ]


def test_use_before_the_first_price_is_counted_at_it() -> None:
    assert periods(tariff({"since": "2026-01-01", "period_months": "3"}), date(2025, 8, 1), date(2025, 8, 2)) == [
        ("2025-07-01", "2025-10-01")
    ]


@pytest.mark.parametrize(("kgal", "total"), [(0, 10), (1, 13), (2, 16), (4, 26), (7, 49), (-1, 10)])
def test_a_bill_by_price_steps(kgal: float, total: float) -> None:
    assert bill(kgal * KGAL, row()).total == pytest.approx(total)


@pytest.mark.parametrize(("rounding", "water"), [("none", 16 - 10 + 0.5 * 5), ("down", 6), ("up", 11)])
def test_use_rounded_to_whole_units(rounding: str, water: float) -> None:
    assert bill(2.5 * KGAL, row(rounding=rounding)).water == pytest.approx(water)


def test_rounding_leaves_whole_units_alone() -> None:
    """7 kgal is 7 units however its litres round."""
    assert bill(7 * KGAL, row(rounding="up")).water == bill(7 * KGAL, row(rounding="down")).water == 39


def test_included_units_come_first() -> None:
    assert bill(3 * KGAL, row(included=2.0)).total == pytest.approx(13)


def test_sewer_by_use_by_winter_or_not() -> None:
    sewer = {"sewer_base": 4.0, "sewer_price": 2.0}
    assert bill(3 * KGAL, row(**sewer)).sewer == 0
    assert bill(3 * KGAL, row(**sewer, sewer_follows="use")).sewer == pytest.approx(6)
    assert bill(3 * KGAL, row(**sewer, sewer_follows="winter"), winter_l=1.5 * KGAL).sewer == pytest.approx(3)
    assert bill(3 * KGAL, row(**sewer, sewer_follows="winter")).sewer == pytest.approx(6)
    assert bill(3 * KGAL, row(**sewer)).fixed == 14


def test_a_price_change_inside_a_period_counts_by_days() -> None:
    """June 2026, 4 kgal: 26 at the old prices for 10 days, 10 + 4 x 6 = 34 at the new ones for 20."""
    both = tariff({"until": "2026-06-11"}, {"since": "2026-06-11", "prices": "6"})
    found = period_bill(4 * KGAL, tariff_versions(both), date(2026, 6, 1), date(2026, 7, 1))
    assert found.total == pytest.approx(26 * 10 / 30 + 34 * 20 / 30)


def test_cost_of_a_part_is_the_bill_with_less_the_bill_without() -> None:
    """June: 6 kgal in all costs 40; without a leak of 2 kgal 26. The mean price would say 13.33."""
    total, leak = daily("2026-06-01", "2026-06-30", 0.2), daily("2026-06-11", "2026-06-20", 0.2)
    found = cost_of(leak, total, tariff())
    assert found["cost"].tolist() == pytest.approx([14])
    assert found["bill"].tolist() == pytest.approx([10 + 6 + 15 + 9])
    assert found["volume_l"].tolist() == pytest.approx([2 * KGAL])


def test_cost_of_a_part_over_two_periods_starts_the_steps_anew() -> None:
    total, leak = daily("2026-06-01", "2026-07-31", 0.1), daily("2026-06-26", "2026-07-05", 0.1)
    found = cost_of(leak, total, tariff())
    # June 3.0 kgal, 0.5 of it leak, above 2: 0.5 x 5. July 3.1 kgal, 0.5 of it leak: 0.5 x 5.
    assert found["cost"].tolist() == pytest.approx([2.5, 2.5])
    assert found["since"].dt.month.tolist() == [6, 7]


def test_winter_sewer_makes_no_part_of_summer_dearer() -> None:
    winter = daily("2025-12-01", "2026-02-28", 0.1)
    june = daily("2026-06-01", "2026-06-30", 0.2)
    total = pd.concat([winter, june])
    sewer = {"prices": "3", "sewer_price": 2.0, "sewer_follows": "winter"}
    found = cost_of(june, total, tariff(sewer))
    assert found["cost"].tolist() == pytest.approx([18])
    assert found["bill"].tolist() == pytest.approx([10 + 18 + 2 * 3])  # 0.1 kgal a day over 30 days


def test_days_not_metered_count_as_none() -> None:
    total = daily("2026-06-01", "2026-06-30", 0.1)
    total.iloc[:10] = float("nan")
    assert cost_of(total, total, tariff())["total_l"].tolist() == pytest.approx([2 * KGAL])


def test_without_a_tariff_nothing_costs_anything() -> None:
    assert cost_of(
        daily("2026-06-01", "2026-06-30", 0.1), daily("2026-06-01", "2026-06-30", 0.1), table("tariff")
    ).empty
    assert (
        cost_of_days(daily("2026-06-01", "2026-06-30", 0.1), table("tariff"), date(2026, 6, 1), date(2026, 6, 30)).total
        == 0
    )


@settings(max_examples=50, deadline=None)
@given(
    st.sampled_from(["1", "2", "3", "12"]),
    st.integers(1, 28),
    st.lists(st.integers(0, 900), min_size=365, max_size=365),
    st.integers(1, 364),
)
def test_days_of_a_year_add_up_to_its_bills(months: str, first_day: int, litres: list[int], cut: int) -> None:
    prices = tariff(
        {"since": "2025-01-01", "period_months": months, "first_day": first_day, "prices": "to 20: 4 / rest: 2"}
    )
    days = pd.date_range("2026-01-01", periods=365)
    total = pd.Series([float(v) for v in litres], index=days)
    whole = cost_of_days(total, prices, date(2026, 1, 1), date(2026, 12, 31))
    left = cost_of_days(total, prices, date(2026, 1, 1), days[cut - 1].date())
    right = cost_of_days(total, prices, days[cut].date(), date(2026, 12, 31))
    assert left.total + right.total == pytest.approx(whole.total)
    by_bill = sum(
        period_bill(
            float(total[(days >= pd.Timestamp(a)) & (days < pd.Timestamp(b))].sum()), tariff_versions(prices), a, b
        ).water
        for a, b in billing_periods(prices, date(2026, 1, 1), date(2026, 12, 31))
    )
    assert whole.water == pytest.approx(by_bill)


def test_winter_average_drops_the_ends_and_weighs_days() -> None:
    assert winter_average([5, 1, 9, 4], drop=(1, 1)) == 4.5
    assert winter_average([310, 280], [31, 28]) == 10


def test_leak_credit_rounds_for_the_customer() -> None:
    assert leak_credit(1_000, [200, 400]) == (700, 350)
    assert leak_credit(1_000, [200, 400], step_l=100) == (700, 400)
    assert leak_credit(200, [300]) == (0, 0)
