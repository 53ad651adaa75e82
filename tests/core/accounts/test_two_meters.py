"""Two houses' registers under one meter are told as that; a misread, a changed meter and a rollover are not."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from core.accounts.account import MeterAccount, account
from core.accounts.registers import meter_intervals
from tests.core.accounts import books
from tests.core.accounts.frames import MADRID, gal, meters, readings, table
from tests.published.test_metering_real import quarterly

NO_USE = table("metered_use")
OTHER = "follows another register and is not counted"
DAYS = [f"2026-07-{d:02d}T07:00" for d in range(1, 29)]


def numbers(*values: float, **same: object) -> pd.DataFrame:
    return readings(*zip(DAYS, values, strict=False), **same)


def test_the_other_registers_readings_are_not_counted() -> None:
    """Own 1,204,000 and on; the neighbour's 88,100 and on. By hand: 300, 900 over three days, 400 over three."""
    found = meter_intervals(
        numbers(1_204_000, 1_204_300, 88_100, 1_205_000, 1_205_200, 88_500, 88_600, 1_205_600), meters(), NO_USE
    )
    assert gal(found) == [300, 700, 200, 400]
    assert [OTHER in n or "follow another register" in n for n in found["note"]] == [False, True, False, True]
    assert "a reading of 88,100 follows" in found["note"][1]
    assert "2 readings, 88,500 to 88,600, follow" in found["note"][3]


def test_it_need_not_be_the_lower_one() -> None:
    found = meter_intervals(
        numbers(88_000, 88_100, 1_204_300, 88_300, 1_205_000, 1_205_200, 88_500, 88_600, 88_700), meters(), NO_USE
    )
    assert gal(found) == [100, 200, 200, 100, 100]


def test_up_to_a_last_reading_of_the_other_one_nothing_is_known() -> None:
    found = meter_intervals(
        numbers(1_204_000, 1_204_300, 88_100, 1_205_000, 88_500, 1_205_300, 1_205_400, 88_700), meters(), NO_USE
    )
    assert gal(found) == [300, 700, 300, 100, None]
    assert found["note"].iloc[-1] == f"a reading of 88,700 {OTHER}"


@pytest.mark.parametrize(
    "values",
    [
        (1_204_000, 1_204_300, 88_100, 1_204_900, 1_205_000, 1_205_300),  # one odd reading
        (1_204_000, 1_204_300, 88_100, 1_204_900, 1_205_000, 88_300, 1_205_300),  # two: may be two misreads
        (1_204_000, 1_204_300, 1_204_500, 15, 200, 500, 900),  # a changed register
        (1_204_000, 1_204_300, 15, 200, 500, 7, 90, 500),  # two of them
        (9_999_500, 9_999_800, 100, 400, 700, 900),  # a rollover
    ],
)
def test_what_happens_once_is_not_two_meters(values: tuple[float, ...]) -> None:
    found = meter_intervals(numbers(*values), meters(), NO_USE)
    assert not found["note"].str.contains("another register").any()


def test_a_change_that_was_written_down_parts_them() -> None:
    rows = numbers(1_204_000, 1_204_300, 88_100, 1_204_900, 88_300, 1_205_300, 1_205_400)
    rows.loc[2, "first_after_change"] = True
    assert not meter_intervals(rows, meters(), NO_USE)["note"].str.contains("another register").any()


def test_a_register_that_climbs_back_to_its_old_level_is_one_register() -> None:
    """Changed, then six years of quarters until it passes where the old one stopped, and changed again."""
    climb = [float(v) for v in range(0, 1200, 50)]
    values = [900.0, 950.0, 1000.0, *climb, *climb, *climb]
    at = [f"{2000 + k // 4}-{1 + 3 * (k % 4):02d}-15T12:00" for k in range(len(values))]
    found = meter_intervals(readings(*zip(at, values, strict=True)), meters(unit="m3"), NO_USE)
    assert not found["note"].str.contains("another register").any()
    assert found["volume_l"].isna().sum() == 3


# --- through the account ----------------------------------------------------------------------------------------


def mixed_home(pace_days: float, days: int, foreign: list[int], own: float = 1_204_000.0) -> MeterAccount:
    """A plain home's register in gallons, read every so many days; at the readings of these numbers the neighbour's
    was typed in, which stood at 88,100 and passes 150 gallons a day."""
    home = books.plain_home(pace_days, days=days)
    shown = np.floor(own + np.concatenate([[0.0], np.cumsum(home.intervals["volume_l"])]) / 3.785411784)
    at = [home.start, *(t.to_pydatetime() for t in home.intervals["end"])]
    for k in foreign:
        shown[k] = 88_100 + round(150 * pace_days * k)
    rows = [{"meter": "main", "at": t, "register_value": v} for t, v in zip(at, shown, strict=True)]
    home.intervals = meter_intervals(table("meter_reading", *rows), meters(), NO_USE)
    return home.account(as_of=at[-1])


@pytest.mark.parametrize(("pace", "days", "foreign"), [(7, 500, [30, 32, 33, 36]), (1, 220, [150, 152, 153, 156])])
def test_two_houses_registers_are_told(pace: int, days: int, foreign: list[int]) -> None:
    found = mixed_home(pace, days, foreign).findings
    assert [f.kind for f in found] == ["two_meters"]
    top, start = found[0], books.START
    assert start + pd.Timedelta(days=pace * (foreign[0] - 1)) == top.since
    assert start + pd.Timedelta(days=pace * (foreign[-1] + 1)) == top.until
    assert "to another register and back" in top.evidence[0]
    assert top.check_first.startswith("Look which register")
    assert not np.isnan(mixed_home(pace, days, foreign).intervals["metered_l"]).any()


@pytest.mark.parametrize("pace", [1, 7])
def test_it_goes_on_while_the_last_reading_is_the_other_ones(pace: int) -> None:
    found = mixed_home(pace, 220 if pace == 1 else 504, [64, 66, 67, 70, 71, 72] if pace == 7 else [214, 216, 219, 220])
    top = found.findings[0]
    assert (top.kind, top.until) == ("two_meters", None)
    assert "The last reading is of the other register still" in top.evidence[-1]
    assert found.metered_through is not None
    last_own = 69 if pace == 7 else 218
    assert found.metered_through == books.START + pd.Timedelta(days=pace * last_own)


def test_one_reading_of_another_register_is_a_misread() -> None:
    assert [f.kind for f in mixed_home(7, 500, [33]).findings] == ["misread"]


def test_a_changed_meter_and_a_rollover_are_neither() -> None:
    assert mixed_home(7, 500, []).findings == ()
    assert mixed_home(7, 500, [], own=9_990_000.0).findings == ()
    changed = mixed_home(7, 500, list(range(40, 72)))
    assert [f for f in changed.findings if f.kind in ("two_meters", "misread")] == []


@pytest.mark.real_data
def test_five_changed_registers_are_not_two_meters() -> None:
    """Quarterly registers of three houses with five changed meters (published data, DAIAD)."""
    rows, register = quarterly()
    houses = table("meter", *({"code": h, "name": h, "supply": "city", "unit": "m3"} for h in rows["house"].unique()))
    intervals = meter_intervals(register, houses, NO_USE)
    plain = books.plain_home(7, days=30)
    for _, mine in intervals.groupby("meter"):
        found = account(
            mine, plain.runs.iloc[:0], plain.flows.iloc[:0], plain.other_use, plain.household, 3, "",
            ZoneInfo(str(MADRID)), datetime.fromisoformat("2018-01-01T00:00+00:00"),
        )  # fmt: skip
        assert all(f.kind != "two_meters" for f in found.findings)
