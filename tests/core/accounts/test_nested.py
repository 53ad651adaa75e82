"""Meters behind meters: own use by subtraction on shared boundaries."""

from __future__ import annotations

import math
from datetime import timedelta

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
