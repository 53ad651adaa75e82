"""Meters behind meters: own use by subtraction on shared boundaries."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.accounts.nested import own_use
from core.accounts.registers import meter_intervals
from tests.core.accounts.frames import local, table

NO_USE = table("metered_use")
START = local("2026-07-01T07:00")


def chain(*pairs: tuple[str, str | None]) -> pd.DataFrame:
    return table(
        "meter", *({"code": c, "name": c, "supply": "city", "unit": "l", "downstream_of": of} for c, of in pairs)
    )


def read(meter: str, *points: tuple[float, float]) -> list[dict[str, object]]:
    """Readings at so many days after 1 July."""
    return [{"meter": meter, "at": START + timedelta(days=d), "register_value": v} for d, v in points]


def own(meters: pd.DataFrame, *rows: dict[str, object]) -> pd.DataFrame:
    return own_use(meter_intervals(table("meter_reading", *rows), meters, NO_USE), meters)


def of(found: pd.DataFrame, meter: str) -> list[float]:
    return found.loc[found["meter"] == meter, "volume_l"].tolist()


def test_a_meter_behind_another_is_subtracted() -> None:
    found = own(
        chain(("main", None), ("drip", "main")),
        *read("main", (0, 0), (1, 500), (2, 900)),
        *read("drip", (0, 0), (1, 300), (2, 310)),
    )
    assert of(found, "main") == [200, 390]
    assert of(found, "drip") == [300, 10]
    assert found["sd_l"][found["meter"] == "main"].iloc[0] == pytest.approx(math.sqrt(2 / 6))


def test_intervals_are_joined_where_the_inner_meter_is_read_more_seldom() -> None:
    found = own(
        chain(("main", None), ("drip", "main")),
        *read("main", (0, 0), (1, 500), (2, 900), (3, 1000)),
        *read("drip", (0, 0), (2, 310), (3, 320)),
    )
    assert of(found, "main") == [590, 90]


def test_two_meters_read_on_one_round_share_the_boundary() -> None:
    ten_minutes = 10 / 1440
    found = own(
        chain(("main", None), ("drip", "main")),
        *read("main", (0, 0), (1, 500), (2, 900)),
        *read("drip", (0 + ten_minutes, 0), (1 + ten_minutes, 300), (2 - ten_minutes, 310)),
    )
    assert of(found, "main") == [200, 390]
    assert not found["note"].str.contains("was not read").any()


def test_parallel_meters_stay_apart() -> None:
    rows = [*read("house", (0, 0), (1, 500)), *read("garden", (0, 0), (1, 300))]
    meters = chain(("house", None), ("garden", None))
    before = meter_intervals(table("meter_reading", *rows), meters, NO_USE)
    pd.testing.assert_frame_equal(own_use(before, meters), before)


def test_an_unread_inner_meter_is_told() -> None:
    found = own(
        chain(("main", None), ("drip", "main")),
        *read("main", (0, 0), (1, 500), (2, 900)),
        *read("drip", (1, 300), (2, 310)),
    )
    assert of(found, "main") == [500, 390]
    assert found["note"][found["meter"] == "main"].str.contains("was not read").tolist() == [True, False]


def test_a_chain_of_three_subtracts_only_the_next() -> None:
    found = own(
        chain(("main", None), ("yard", "main"), ("tubs", "yard")),
        *read("main", (0, 0), (1, 500)), *read("yard", (0, 0), (1, 300)), *read("tubs", (0, 0), (1, 120)),
    )  # fmt: skip
    assert (of(found, "main"), of(found, "yard"), of(found, "tubs")) == ([200], [180], [120])


def test_an_inner_gap_that_is_not_knowable_makes_the_outer_own_use_unknown() -> None:
    found = own(
        chain(("main", None), ("drip", "main")),
        *read("main", (0, 0), (1, 5_000), (2, 9_000)),
        *read("drip", (0, 4_000), (1, 30), (2, 40)),
    )
    first, second = of(found, "main")
    assert math.isnan(first)
    assert second == 3_990


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 900), st.integers(0, 900), st.integers(0, 900)), min_size=2, max_size=10),
    st.data(),
)
def test_own_volumes_sum_to_the_outermost(days: list[tuple[int, int, int]], data: st.DataObject) -> None:
    """Main holds yard holds tubs; whatever days the inner ones are read on, nothing is lost or counted twice."""
    last = len(days) - 1
    tubs, yard, main = ([0] for _ in range(3))
    for house, garden, pots in days[1:]:
        tubs.append(tubs[-1] + pots)
        yard.append(yard[-1] + pots + garden)
        main.append(main[-1] + pots + garden + house)
    rows = []
    for code, values in (("main", main), ("yard", yard), ("tubs", tubs)):
        kept = {0, last, *data.draw(st.sets(st.integers(0, last)))}
        rows += read(code, *((float(k), float(values[k])) for k in sorted(kept)))
    found = own(chain(("main", None), ("yard", "main"), ("tubs", "yard")), *rows)
    assert found["volume_l"].sum() == pytest.approx(main[-1])
    assert sum(of(found, "main")) == pytest.approx(sum(d[0] for d in days[1:]))


HOURS = 1 / 24


def test_a_daily_file_and_a_weekly_look_that_never_meet_give_weeks() -> None:
    """Main at seven each day, 100 L a day of the house; the garden's meter on the seventh day at half past four, when
    700 L of it have passed: the day is cut by time, and says how unsure that is.
    """
    weeks, late = 4, 9.5 * HOURS
    main = [(float(d), 100.0 * d + 700.0 * (d // 7)) for d in range(29)]
    garden = [(7.0 * k + late, 700.0 * k) for k in range(weeks + 1)]
    found = own(chain(("main", None), ("drip", "main")), *read("main", *main), *read("drip", *garden))
    mine = found[found["meter"] == "main"].reset_index(drop=True)
    assert mine["end"].tolist()[1:4] == [pd.Timestamp(START + timedelta(days=7 * k + 9.5 / 24)) for k in (1, 2, 3)]
    assert mine["volume_l"][2] == pytest.approx(700, abs=1)
    assert 20 < mine["sd_l"][2] < 60, "of a day of 100 L at either end, between a fifth and half"
    assert mine["volume_l"].sum() + of(found, "drip")[0] * weeks == pytest.approx(main[-1][1], abs=700)


def test_days_since_the_inner_meter_was_last_read_are_no_ground_to_reason_from() -> None:
    found = own(
        chain(("main", None), ("drip", "main")),
        *read("main", (0, 0), (1, 500), (2, 900), (3, 1800)),
        *read("drip", (0, 0), (1, 300), (2, 310)),
    )
    assert found["estimated"][found["meter"] == "main"].tolist() == [False, False, True]
    assert of(found, "main")[-1] == 900, "it is counted all the same"


def test_an_inner_meter_that_nobody_reads_any_more_does_not_blind_the_outer_one() -> None:
    main = [(float(d), 100.0 * d) for d in range(101)]
    found = own(chain(("main", None), ("drip", "main")), *read("main", *main), *read("drip", (0, 0), (1, 30), (2, 60)))
    unsure = found["estimated"][found["meter"] == "main"].tolist()
    assert unsure[:2] == [False, False]
    assert unsure[2:40] == [True] * 38
    assert unsure[60:] == [False] * 40


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 900), st.integers(0, 900)), min_size=3, max_size=40),
    st.integers(1, 9),
    st.floats(-0.45, 0.45),
)
def test_whenever_the_inner_meter_is_looked_at_nothing_is_lost(
    days: list[tuple[int, int]], every: int, late: float
) -> None:
    """Each day's use of house and garden; the garden's meter is read every so many days, some hours off the main."""
    total, garden, main_points, inner = 0, 0, [(0.0, 0.0)], [(late, 0.0)]
    for day, (house, drip) in enumerate(days, 1):
        total, garden = total + house + drip, garden + drip
        main_points.append((float(day), float(total)))
        if day % every == 0:
            inner.append((day + late, float(garden)))
    rows = [*read("main", *main_points), *read("drip", *inner)]
    meters = chain(("main", None), ("drip", "main"))
    whole = meter_intervals(table("meter_reading", *rows), meters, NO_USE)
    found = own_use(whole, meters)
    before = whole.loc[whole["meter"] == "main"]
    mine = found.loc[found["meter"] == "main"]
    assert mine["start"].iloc[0] == before["start"].iloc[0]
    assert mine["end"].iloc[-1] == before["end"].iloc[-1]
    assert (mine["start"].iloc[1:].to_numpy() == mine["end"].iloc[:-1].to_numpy()).all()
    inside = sum(
        row.volume_l * _part(row, before["start"].iloc[0], before["end"].iloc[-1])
        for row in whole.loc[whole["meter"] == "drip"].itertuples()
    )
    assert mine["volume_l"].sum() == pytest.approx(total - inside, abs=1e-6)


def _part(row: Any, since: pd.Timestamp, until: pd.Timestamp) -> float:
    """Of a row's time that lies between two instants."""
    inside = min(row.end, until) - max(row.start, since)
    return max(inside / (row.end - row.start), 0.0)
