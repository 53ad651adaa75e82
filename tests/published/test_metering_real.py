"""Real registers (../shared/data): meters in Spain and Utah, read as a household would bring them in."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd
import pytest

from core.accounts.applied import logged_by_day
from core.accounts.ledger import make_ledger
from core.accounts.logged import logged_uses
from core.accounts.registers import meter_intervals
from core.accounts.runs import runs_between
from core.days import Moment
from core.exchange.clock import WallClock
from core.exchange.doubled import settle
from core.units import from_base, to_base
from tests.core.accounts.frames import DENVER, GALLON_L, MADRID, REAL_DATA, local, meters, readings, table, uses
from tests.published.metering_cases import close, of
from tests.published.reference_rules import continuous_flow_alert

pytestmark = pytest.mark.real_data
Case = dict[str, Any]
COVERS = {"w050", "w051", "w066", "w116", "w126", "w128", "w136"}
NO_USE = table("metered_use")
UTAH_FIRST, UTAH_LAST = date(2020, 7, 21), date(2020, 8, 4)


def read_moments(texts: pd.Series, tz: ZoneInfo) -> list[datetime]:
    """Local clock times as a sheet is taken in: a doubled time is told apart by the order of the file."""
    clock, column = WallClock(tz), texts.tolist()
    read = {text: clock.read(text) for text in column}
    told = settle(column, ["main"] * len(column), read)
    moments = [told.get(i, read[text]) for i, text in enumerate(column)]
    assert all(isinstance(m, Moment) for m in moments)
    return [m.utc for m in moments if isinstance(m, Moment)]


def spanish(file: str) -> pd.DataFrame:
    rows = pd.read_csv(REAL_DATA / file)
    at = read_moments(rows["read_at"], MADRID)
    register = table(
        "meter_reading",
        *(
            {"meter": "main", "at": when, "register_value": value, "how": "file"}
            for when, value in zip(at, rows["register_l"], strict=True)
        ),
    )
    return meter_intervals(register, meters(unit="l"), NO_USE)


def utah_hourly() -> pd.DataFrame:
    rows = pd.read_csv(REAL_DATA / "meter_utah2020_labelled_hourly.csv")
    start = [local(t) for t in rows["read_at"]]
    hourly = table(
        "metered_use",
        *(
            {"meter": "main", "start": a, "end": a + timedelta(hours=1), "volume_l": g * GALLON_L}
            for a, g in zip(start, rows["gallons"], strict=True)
        ),
    )
    return meter_intervals(table("meter_reading"), meters(), hourly)


def brought(runs: pd.DataFrame, intervals: pd.DataFrame, flow_lph: dict[str, float]) -> pd.DataFrame:
    """Litres the runs of each zone should bring in each interval, as an account takes them."""
    flows = pd.DataFrame(
        {"zone": list(flow_lph), "since": pd.NaT, "until": pd.NaT, "flow_lph": list(flow_lph.values()), "sd_share": 0.1}
    )
    end = pd.Timestamp(max(intervals["end"].max(), runs["end"].max())).to_pydatetime()
    ledger = make_ledger(intervals, runs, flows, table("other_use"), table("household"), 2, DENVER, end)
    assert len(ledger.paper) == len(intervals)
    return pd.DataFrame(ledger.paper, columns=list(ledger.zones))


def irrigation() -> pd.DataFrame:
    events = pd.read_csv(REAL_DATA / "meter_utah2020_outdoor_events.csv")
    return events[events["label"] == "irrigation"].reset_index(drop=True)


# --- five changed registers, none of them a rollover ------------------------------------------------------------

FALLS = [  # house, day of the fallen reading; published data DAIAD, read off in the file's note
    ("house1", "2002-04-12"),
    ("house1", "2013-09-09"),
    ("house2", "2005-09-07"),
    ("house2", "2016-06-13"),
    ("house3", "2017-03-13"),
]


def quarterly() -> tuple[pd.DataFrame, pd.DataFrame]:
    rows = pd.read_csv(REAL_DATA / "meter_daiad_f_quarterly_m3.csv")
    register = table(
        "meter_reading",
        *(
            {
                "meter": r.house,
                "at": local(f"{r.read_at}T12:00", MADRID),
                "at_exact": "day",
                "register_value": r.register_m3,
            }
            for r in rows.itertuples()
        ),
    )
    return rows, register


@pytest.mark.parametrize("digits", [4, 7])
def test_five_falls_of_three_houses_are_changed_registers(digits: int) -> None:
    rows, register = quarterly()
    houses = table(
        "meter",
        *({"code": h, "name": h, "supply": "city", "unit": "m3", "digits": digits} for h in rows["house"].unique()),
    )
    found = meter_intervals(register, houses, NO_USE)
    unknown = found[found["volume_l"].isna()]
    days = unknown["end"].dt.tz_convert(MADRID).dt.strftime("%Y-%m-%d")
    assert list(zip(unknown["meter"], days, strict=True)) == FALLS
    assert set(unknown["note"]) == {"register fell: changed meter?"}
    assert not found["note"].str.contains("rolled over").any()
    # No invented volume: what is known is the sum of all rises in the file.
    for house, mine in found.groupby("meter"):
        values = rows[rows["house"] == house].sort_values("read_at", kind="stable")["register_m3"]
        assert mine["volume_l"].sum() / 1000 == pytest.approx(values.diff().clip(lower=0).sum())
    assert found["volume_l"].max() < 150_000


def test_house1_last_quarters_and_a_catch_up_after_readings_nobody_took() -> None:
    """Registers 298 320 340 363 383 402 at the end (the file's note prints 23 for the first of them); many repeated
    numbers to 2001, then a jump."""
    rows, register = quarterly()
    houses = table("meter", *({"code": h, "name": h, "supply": "city", "unit": "m3"} for h in rows["house"].unique()))
    found = meter_intervals(register, houses, NO_USE)
    house1 = found[found["meter"] == "house1"]
    assert (house1["volume_l"].tail(5) / 1000).tolist() == [22, 20, 23, 20, 19]
    early = house1[house1["end"] < pd.Timestamp("2002-01-01", tz="UTC")]
    assert early["note"].str.contains("was it read").sum() >= 20


# --- clock changes ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("case", of("w136"))
def test_the_night_clocks_go_back(case: Case) -> None:
    found = spanish("meter_daiad_g_dst_hours.csv")
    given, expected = case["inputs"], case["expected"]
    since, until = (pd.Timestamp(local(given[k], MADRID)) for k in ("from_", "to"))
    night = found[(found["start"] >= since) & (found["end"] <= until)]
    assert night["volume_l"].sum() == expected["use_l"]
    assert (night["volume_l"] < 0).sum() == expected["negative_steps"]
    hours = (night["end"] - night["start"]).dt.total_seconds() / 3600
    assert hours.sum() == pytest.approx(13, abs=0.01)
    wall = night["end"].dt.tz_convert(MADRID).dt.tz_localize(None)
    assert wall.duplicated().sum() == expected["duplicate_local_times"]


def test_the_night_clocks_go_forward_has_no_missing_hour() -> None:
    """2016-03-27: hour 02 never was; 320,756 to 320,814 L from the first to the last reading of the file's night."""
    found = spanish("meter_daiad_g_dst_hours.csv")
    night = found[found["end"] <= pd.Timestamp("2016-03-28", tz="UTC")]
    assert ((night["end"] - night["start"]).dt.total_seconds() < 3700).all()
    assert night["volume_l"].sum() == 320_814 - 320_756


# --- the drip in Spain and the house in Utah under utilities' rules ---------------------------------------------


@pytest.mark.parametrize("case", of("w050", "w051", "w116"))
def test_utility_rules_on_real_registers(case: Case) -> None:
    """The rules read the intervals that the register gives: a duplicate or a gap badly handled would trip them."""
    given = case["inputs"]
    found = utah_hourly() if "utah" in given["file"] else spanish(given["file"])
    alert = continuous_flow_alert(found, to_base(given["min_gph"], "gph", "flow"), given["hours"])
    if case["expected"] == "never":
        assert alert is None
    else:
        assert alert == pd.Timestamp(case["expected"], tz=MADRID)


def test_the_drip_house_loses_nothing_in_its_gaps() -> None:
    """The file's note: 33,105 L, no negative step, largest gap 9 h, 25 gaps by the wall clock, of which one is the
    hour that clocks jumped over on 27 March."""
    found = spanish("meter_daiad_a_smallleak_fixed.csv")
    hours = (found["end"] - found["start"]).dt.total_seconds() / 3600
    assert found["volume_l"].sum() == 33_105
    assert (found["volume_l"] >= 0).all()
    assert (hours > 1.1).sum() == 25 - 1
    assert hours.max() == pytest.approx(9.0, abs=0.05)


# --- a register against the runs of a known house ---------------------------------------------------------------


@pytest.mark.parametrize("case", of("w066"))
def test_what_a_log_of_the_runs_leaves_of_the_meter(case: Case) -> None:
    """The 21 irrigation runs written down as other use leave indoor and hose; every litre of them is placed once."""
    events = irrigation()
    written = table(
        "other_use",
        *(
            {
                "start": local(a),
                "end": local(b),
                "nth": n + 1,
                "what": "irrigation",
                "volume_l": g * GALLON_L,
                "meter": "main",
            }
            for n, (a, b, g) in enumerate(zip(events["start"], events["end"], events["gallons"], strict=True))
        ),
    )
    explained = logged_by_day(logged_uses(written, DENVER, UTAH_LAST), DENVER, UTAH_FIRST, UTAH_LAST)
    left = utah_hourly()["volume_l"].sum() - explained["volume_l"].sum()
    assert from_base(left, "gal", "volume") == close(case)


@pytest.mark.parametrize("case", of("w126", "w128"))
def test_a_register_closes_against_known_runs_to_its_resolution(case: Case) -> None:
    given = case["inputs"]
    unit = "ccf" if "ccf" in given["column"] else "gal"
    rows = pd.read_csv(REAL_DATA / "meter_utah2020_daily_register_built.csv")
    register = readings(*zip(rows["read_at"].str[:16], rows[given["column"]], strict=True))
    found = meter_intervals(register, meters(unit=unit), NO_USE)
    since, until = (pd.Timestamp(local(given[k])) for k in ("from_", "to"))
    window = found[(found["start"] >= since) & (found["end"] <= until)]
    assert window["start"].min() == since
    assert window["end"].max() == until
    events = irrigation()
    at = pd.to_datetime([local(t) for t in events["start"]], utc=True)
    irrigated = events["gallons"][(at >= since) & (at < until)].sum()
    assert from_base(window["volume_l"].sum(), "gal", "volume") - irrigated == close(case)
    assert case["tolerance"] <= from_base(window["resolution_l"].max(), "gal", "volume") * 1.001


def test_recorded_runs_fall_into_the_hours_that_used_their_water() -> None:
    """21.36 and 1.16 gpm are the file's means: minutes by hour times them must give the labelled irrigation."""
    events, hours = irrigation(), utah_hourly()
    ran = [
        {"zone": "spray" if "spray" in kind else "low", "at": local(a), "duration_min": minutes}
        for kind, a, minutes in zip(events["kind"], events["start"], events["dur_min"], strict=True)
    ]
    runs = runs_between(
        table("program"), table("pause"), table("run", *ran), table("controller"), table("clock_check"), table("zone"),
        DENVER, UTAH_FIRST, UTAH_LAST,
    )  # fmt: skip
    minutes = brought(runs, hours, {"spray": 60.0, "low": 60.0})  # a litre a minute
    assert minutes.sum().to_dict() == pytest.approx(
        events.groupby(events["kind"].str[:3]).dur_min.sum().rename({"low": "low", "spr": "spray"}).to_dict()
    )
    labelled = pd.read_csv(REAL_DATA / "meter_utah2020_labelled_hourly.csv")["irrigation"]
    modelled = minutes["spray"] * 21.36 + minutes["low"] * 1.16
    assert (modelled - labelled).abs().max() < 30  # gal in an hour of 1,280: starts are rounded to the minute
    assert ((modelled > 0) != (labelled > 0)).sum() <= 2


def test_an_hourly_file_and_daily_register_readings_count_once() -> None:
    """The same water read twice: hourly volumes with the 8 o'clock register beside them."""
    rows = pd.read_csv(REAL_DATA / "meter_utah2020_daily_register_built.csv")
    register = readings(*zip(rows["read_at"].str[:16], rows["register_gal_1"], strict=True))
    labelled = pd.read_csv(REAL_DATA / "meter_utah2020_labelled_hourly.csv")
    ends = [(local(t) + timedelta(hours=1)).isoformat()[:16] for t in labelled["read_at"]]
    hourly = uses(*zip(labelled["read_at"].str[:16], ends, labelled["gallons"] * GALLON_L, strict=True))
    both = meter_intervals(register, meters(), hourly)
    assert both["source"].unique().tolist() == ["use"]
    assert both["volume_l"].sum() / GALLON_L == pytest.approx(labelled["gallons"].sum())
    thinned = hourly[hourly.index % 7 != 3].reset_index(drop=True)
    mixed = meter_intervals(register, meters(), thinned)
    first, last = (pd.Timestamp(local(rows["read_at"].iloc[k])) for k in (0, -1))
    within = mixed[(mixed["start"] >= first) & (mixed["end"] <= last)]
    exact = rows["register_gal_exact"].iloc[-1] - rows["register_gal_exact"].iloc[0]
    assert within["volume_l"].sum() / GALLON_L == pytest.approx(exact, abs=1.0)
