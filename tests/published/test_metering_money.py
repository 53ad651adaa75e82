"""Published bills, each written as the tariff record a household would enter."""

from __future__ import annotations

from datetime import date
from typing import Any

import pandas as pd
import pytest

from core.accounts.money import bill, cost_of, leak_credit, period_bill, tariff_versions, winter_average
from core.units import to_base
from tests.core.accounts.frames import REAL_BILLS, table
from tests.published.metering_cases import CASES, close, of

Case = dict[str, Any]
KGAL, CCF = to_base(1, "kgal", "volume"), to_base(1, "ccf", "volume")

TIERED = ("w033", "w038", "w043", "w099", "w101")
ARCH_CAPE_MONTHS = ("w094", "w096")
WINTER = ("w045", "w091")
COVERS = {
    *TIERED, *ARCH_CAPE_MONTHS, *WINTER, "w035", "w036", "w040", "w041", "w093", "w098", "w103", "w104",
}  # fmt: skip


def tariff(**columns: Any) -> dict[Any, Any]:
    return tariffs({"since": "2000-01-01", **columns}).to_dict("records")[0]


def tariffs(*rows: dict[str, Any]) -> pd.DataFrame:
    return table("tariff", *({"supply": "city", "unit": "kgal", "base": 0.0, **row} for row in rows))


def steps(tiers: list[list[float | None]], scale: float = 1.0) -> str:
    """Tiers of a case (upper bound, price) in the book's notation, bounds divided by ``scale``."""
    return " / ".join(f"{'rest' if up is None else f'to {up / scale:g}'}: {price}" for up, price in tiers)


@pytest.mark.parametrize("case", of(*TIERED))
def test_tiered_bills(case: Case) -> None:
    given = case["inputs"]
    in_ccf = "ccf" in given
    base = sum(given.get(part, 0.0) for part in ("base", "standby", "test_fee"))
    prices = steps(given["tiers"], 1.0 if in_ccf else given["per"])
    row = tariff(unit="ccf" if in_ccf else "kgal", base=base, prices=prices, period_months="3")
    volume = given["ccf"] * CCF if in_ccf else given["gal"] / 1000 * KGAL
    assert bill(volume, row).total == close(case)


def arden_hills() -> dict[Any, Any]:
    """Water and sewer of Arden Hills MN 2013 on one bill; its sewer base includes 15,000 gal."""
    water = CASES["w033"]["inputs"]
    return tariff(
        base=water["base"] + water["standby"] + water["test_fee"], prices=steps(water["tiers"], 1000), period_months="3"
    )


@pytest.mark.parametrize("case", of("w035"))
def test_sewer_with_included_volume(case: Case) -> None:
    given = case["inputs"]
    row = tariff(base=given["base"], included=given["included_gal"] / 1000, prices=str(given["rate_per_1000"]))
    assert bill(given["gal"] / 1000 * KGAL, row).total == close(case)


@pytest.mark.parametrize("case", of("w036"))
def test_the_whole_arden_hills_bill(case: Case) -> None:
    """Its printed total is a cent above its lines."""
    sewer = CASES["w035"]["inputs"]
    sewer_row = tariff(base=sewer["base"], included=sewer["included_gal"] / 1000, prices=str(sewer["rate_per_1000"]))
    lines = bill(50 * KGAL, arden_hills()).total + bill(50 * KGAL, sewer_row).total + case["inputs"]["surface"]
    assert lines == close(case)


@pytest.mark.parametrize("case", of("w040"))
def test_prices_may_fall(case: Case) -> None:
    given = case["inputs"]
    prices = f"to 10: {given['next_10000_per_1000']} / rest: {given['over_15000_per_1000']}"
    row = tariff(base=given["first_5000"], included=5.0, prices=prices)
    assert bill(given["gal"] / 1000 * KGAL, row).total == close(case)


def arch_cape() -> dict[str, Any]:
    """5,000 gal a month included; steps of 3,000, 4,000, 4,000 and 9,000 gal, priced for 100 gal."""
    prices, upper = [], 0.0
    for width, per_100 in CASES["w094"]["inputs"]["tier_widths_rate_per_100"]:
        upper += (width or 0) / 1000
        prices.append(f"{'rest' if width is None else f'to {upper:g}'}: {per_100 * 10:g}")
    return {"since": "2020-01-01", "included": 5.0, "prices": " / ".join(prices)}


@pytest.mark.parametrize("case", of(*ARCH_CAPE_MONTHS))
def test_excess_of_a_month(case: Case) -> None:
    volume = (5_000 + case["inputs"]["excess_gal"]) / 1000 * KGAL
    assert bill(volume, tariff(**arch_cape())).water == close(case)


METERED = {6: 8_080, 7: 7_850, 8: 38_550}  # June, July, August; Arch Cape Water District, Excess Usage Calculator 3


def summer() -> pd.Series:
    """The three metered months laid evenly over their days."""
    days = pd.date_range("2020-06-01", "2020-08-31")
    return pd.Series([METERED[d.month] / d.days_in_month / 1000 * KGAL for d in days], index=days)


@pytest.mark.parametrize("case", of("w041"))
def test_steps_begin_anew_each_month(case: Case) -> None:
    """Three months of an Oregon house with a failed irrigation line; one tiering of the quarter would give 3,969.50."""
    costs = cost_of(summer(), summer(), tariffs(arch_cape()))
    assert len(costs) == 3
    assert costs["cost"].sum() == close(case)


@pytest.mark.parametrize("case", of("w103"))
def test_steps_only_in_summer(case: Case) -> None:
    """Marshall MN: two versions of the tariff by season; the December bill has one price."""
    given = case["inputs"]
    versions = tariffs(
        {"since": "2022-07-01", "until": "2022-11-01", "base": given["base"], "prices": steps(given["summer"], 1000)},
        {"since": "2022-11-01", "base": given["base"], "prices": str(given["winter_rate"])},
    )
    volume = given["gal"] / 1000 * KGAL
    december = period_bill(volume, tariff_versions(versions), date(2022, 12, 1), date(2023, 1, 1))
    assert december.total == close(case)
    october = period_bill(volume, tariff_versions(versions), date(2022, 10, 1), date(2022, 11, 1))
    assert october.total == pytest.approx(23.5 + 6 * 5.93 + 6 * 6.53 + 2 * 7.12)  # the same sheet's summer steps


def test_a_rate_sheet_with_a_date() -> None:
    """Minnetrista MN, press report: new prices and a wider second step from 1 April 2022, quarterly, base 31.97."""
    first = {"since": "2022-01-01", "until": "2022-04-01", "prices": "to 25: 4.13 / to 50: 5.15 / rest: 6.59"}
    second = {"since": "2022-04-01", "prices": "to 25: 4.50 / to 65: 6.25 / rest: 11.25"}
    versions = tariffs(*({**row, "base": 31.97, "period_months": "3"} for row in (first, second)))
    before = period_bill(30 * KGAL, tariff_versions(versions), date(2022, 1, 1), date(2022, 4, 1)).total
    after = period_bill(30 * KGAL, tariff_versions(versions), date(2022, 4, 1), date(2022, 7, 1)).total
    assert before == close(CASES["w101"])
    assert after == pytest.approx(31.97 + 25 * 4.50 + 5 * 6.25)


@pytest.mark.parametrize("case", of("w045"))
def test_winter_average_by_service_days(case: Case) -> None:
    given = case["inputs"]
    assert winter_average([given["total_gal"]], [given["days"]]) * given["month_days"] == close(case)


@pytest.mark.parametrize("case", of("w091"))
def test_winter_average_without_its_ends(case: Case) -> None:
    assert winter_average(case["inputs"]["monthly_gal"], drop=(1, 1)) == close(case)


@pytest.mark.parametrize("case", of("w093"))
def test_sewer_by_the_winter_average(case: Case) -> None:
    given = case["inputs"]
    row = tariff(prices="0", sewer_base=given["base"], sewer_price=given["rate_per_1000"], sewer_follows="winter")
    found = bill(31 * KGAL, row, winter_l=given["avg_gal"] / 1000 * KGAL)
    assert found.total == close(case)


@pytest.mark.parametrize("case", of("w098"))
def test_leak_volume_above_the_months_before(case: Case) -> None:
    excess, _ = leak_credit(METERED[8], [METERED[6], METERED[7]])
    assert excess == close(case)


@pytest.mark.parametrize("case", of("w104"))
def test_leak_credit_in_the_customers_favour(case: Case) -> None:
    given = case["inputs"]
    _, credit = leak_credit(given["leak_quarter_gal"], [given["normal_gal"]], given["share"], given["round_to"])
    assert credit == close(case)


@pytest.mark.real_data
def test_the_metered_months_are_those_of_the_file() -> None:
    rows = pd.read_csv(REAL_BILLS)
    assert dict(zip((6, 7, 8), rows["metered_gal"], strict=True)) == METERED
    months = [bill(gal / 1000 * KGAL, tariff(**arch_cape())).water for gal in rows["metered_gal"]]
    assert months == pytest.approx(rows["printed_excess_usd"].tolist(), abs=0.0051)
