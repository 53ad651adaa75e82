"""Applied water: minutes x flow by hand, and parts that sum to the whole."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.accounts.applied import applied_by_planting, applied_by_zone
from core.accounts.logged import logged_uses
from tests.core.accounts.frames import DENVER, local, table

FIRST, LAST = date(2026, 7, 1), date(2026, 7, 4)


def runs(*rows: tuple[str, str, float], basis: str = "presumed") -> pd.DataFrame:
    start = pd.to_datetime([local(at) for _, at, _ in rows], utc=True)
    return pd.DataFrame(
        {
            "zone": [z for z, _, _ in rows],
            "start": start,
            "end": start + pd.to_timedelta([m for _, _, m in rows], unit="min"),
            "minutes": [m for _, _, m in rows],
            "basis": basis,
        }
    )


def dated(zone: str, **columns: Any) -> dict[str, Any]:
    return {"zone": zone, "since": pd.Timestamp("2020-01-01"), "until": pd.NaT, **columns}


FLOWS = pd.DataFrame(
    [
        dated("beds", flow_lph=120.0, sd_share=0.1),
        dated("tubs", flow_lph=30.0, sd_share=0.0),
        dated("wild", flow_lph=math.nan, sd_share=math.nan),
    ]
)


def uses(*rows: dict[str, Any]) -> pd.DataFrame:
    base = {"what": "hose", "start": local("2026-07-02T08:00"), "volume_l": 50.0, "spread": 20.0}
    return logged_uses(table("other_use", *({**base, **r} for r in rows)), DENVER, LAST)


def on(found: pd.DataFrame, zone: str, day: int, column: str) -> float:
    return float(found[(found["zone"] == zone) & (found["day"].dt.day == day)][column].iloc[0])


def test_litres_are_minutes_times_flow() -> None:
    found = applied_by_zone(
        runs(("beds", "2026-07-01T05:00", 30), ("tubs", "2026-07-02T23:50", 20)), FLOWS, DENVER, FIRST, LAST
    )
    assert len(found) == 3 * 4
    assert on(found, "beds", 1, "program_l") == 60
    assert on(found, "beds", 1, "sd_l") == pytest.approx(6)
    assert on(found, "tubs", 2, "applied_l") == on(found, "tubs", 3, "applied_l") == 5
    assert on(found, "tubs", 4, "applied_l") == 0


def test_runs_that_did_not_happen_give_nothing() -> None:
    found = applied_by_zone(runs(("beds", "2026-07-01T05:00", 30), basis="did_not"), FLOWS, DENVER, FIRST, LAST)
    assert found["applied_l"].sum() == 0


def test_unknown_flow_is_unknown_where_it_ran_and_nothing_where_it_did_not() -> None:
    found = applied_by_zone(runs(("wild", "2026-07-01T05:00", 30)), FLOWS, DENVER, FIRST, LAST)
    assert math.isnan(on(found, "wild", 1, "applied_l"))
    assert on(found, "wild", 2, "applied_l") == 0


def test_delivery_factors_hold_from_a_day_on() -> None:
    factors = pd.DataFrame(
        {
            "zone": ["beds"],
            "factor": [0.5],
            "since": [pd.Timestamp("2026-07-02")],
            "until": [pd.Timestamp("2026-07-03")],
        }
    )
    daily = runs(*[("beds", f"2026-07-0{d}T05:00", 30) for d in (1, 2, 3)])
    found = applied_by_zone(daily, FLOWS, DENVER, FIRST, LAST, factors=factors)
    assert [on(found, "beds", d, "program_l") for d in (1, 2, 3)] == [60, 30, 60]


def test_logged_watering_counts_with_its_spread() -> None:
    found = applied_by_zone(
        runs(("beds", "2026-07-02T05:00", 30)), FLOWS, DENVER, FIRST, LAST, uses=uses({"zone": "beds"}, {})
    )
    assert on(found, "beds", 2, "logged_l") == 50
    assert on(found, "beds", 2, "applied_l") == 110
    assert on(found, "beds", 2, "sd_l") == pytest.approx(math.hypot(6, 10))


SHARES = pd.DataFrame([dated("beds", planting="roses", share=0.75), dated("beds", planting="herbs", share=0.25)])
AREAS = pd.DataFrame(
    [
        dated("beds", planting="roses", area_m2=5.0),
        dated("beds", planting="herbs", area_m2=4.0),
        dated("hose", planting="apple", area_m2=8.0),
        dated("hose", planting="plum", area_m2=2.0),
    ]
)
HOSE = pd.DataFrame([dated("beds", flow_lph=120.0, sd_share=0.1), dated("hose", flow_lph=math.nan, sd_share=math.nan)])


def by_planting(
    zone_days: pd.DataFrame, day: int, used: pd.DataFrame | None = None, areas: pd.DataFrame = AREAS
) -> dict[str, tuple[float, float]]:
    found = applied_by_planting(zone_days, SHARES, areas, DENVER, uses=used)
    found = found[found["day"].dt.day == day]
    return {r.planting: (r.applied_l, r.applied_mm) for r in found.itertuples()}


def test_a_zone_is_divided_by_its_emitters() -> None:
    zone_days = applied_by_zone(runs(("beds", "2026-07-01T05:00", 30)), FLOWS.head(1), DENVER, FIRST, LAST)
    assert by_planting(zone_days, 1) == {"roses": (45, 9), "herbs": (15, 3.75)}


def test_a_use_that_names_its_planting_goes_there() -> None:
    used = uses({"zone": "beds", "planting": "herbs"})
    zone_days = applied_by_zone(runs(("beds", "2026-07-02T05:00", 30)), FLOWS.head(1), DENVER, FIRST, LAST, uses=used)
    assert by_planting(zone_days, 2, used) == {"roses": (45, 9), "herbs": (65, 16.25)}


def test_a_hose_outlet_is_divided_by_area_and_else_stands_unnamed() -> None:
    used = uses({"zone": "hose"})
    zone_days = applied_by_zone(runs(), HOSE, DENVER, FIRST, LAST, uses=used)
    found = by_planting(zone_days, 2, used)
    assert (found["apple"], found["plum"]) == ((40, 5), (10, 5))
    unnamed = by_planting(zone_days[zone_days["zone"] == "hose"], 2, used, areas=AREAS.head(2))
    assert unnamed[""][0] == 50
    assert math.isnan(unnamed[""][1])


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from(["beds", "hose"]), st.integers(0, 3), st.integers(1, 600)), max_size=8),
    st.lists(
        st.tuples(
            st.sampled_from(["beds", "hose"]),
            st.sampled_from([None, "roses", "apple", "stray"]),
            st.integers(0, 500),
            st.integers(1, 60),
        ),
        max_size=5,
    ),
)
def test_plantings_sum_to_their_zone_and_days_to_the_runs(
    ran: list[tuple[str, int, int]], poured: list[tuple[str, str | None, int, int]]
) -> None:
    flows = pd.DataFrame([dated("beds", flow_lph=120.0, sd_share=0.1), dated("hose", flow_lph=60.0, sd_share=0.1)])
    the_runs = runs(*[(z, f"2026-07-0{d + 1}T05:00", float(m)) for z, d, m in ran])
    used = uses(
        *[
            {
                "zone": z,
                "planting": p,
                "volume_l": float(v),
                "nth": k + 1,
                "end": local(f"2026-07-0{2 + n // 24}T{n % 24:02}:30") if n > 9 else None,
            }
            for k, (z, p, v, n) in enumerate(poured)
        ]
    )
    zone_days = applied_by_zone(the_runs, flows, DENVER, FIRST, LAST, uses=used)
    in_time = sum(v * 1.0 for _, _, v, _ in poured)
    expected = sum(m / 60 * {"beds": 120, "hose": 60}[z] for z, _, m in ran) + in_time
    assert zone_days["applied_l"].sum() == pytest.approx(expected, abs=1e-6)
    parts = applied_by_planting(zone_days, SHARES, AREAS, DENVER, uses=used)
    summed = parts.groupby(["zone", "day"])["applied_l"].sum()
    whole = zone_days.set_index(["zone", "day"])["applied_l"]
    assert np.allclose(summed.reindex(whole.index), whole)


def test_no_zones_give_no_rows() -> None:
    none = applied_by_zone(runs(), FLOWS.head(0), DENVER, FIRST, LAST)
    assert none.empty
    assert applied_by_planting(none, SHARES, AREAS, DENVER).empty
