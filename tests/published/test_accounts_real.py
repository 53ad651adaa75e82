"""Real homes (../shared/data) through the whole account: a drip that ends, a house without a leak, a labelled garden.

What is true of a file stands in the note beside it (../shared/data/NAME.md); each check names the sentence it rests on.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from core.accounts.account import MeterAccount, account
from core.accounts.delivery import ridge
from core.accounts.registers import meter_intervals
from core.accounts.runs import runs_between
from tests.core.accounts.frames import DENVER, GALLON_L, MADRID, REAL_DATA, local, meters, table
from tests.published.metering_cases import of
from tests.published.test_metering_real import brought, irrigation, spanish, utah_hourly

pytestmark = pytest.mark.real_data
Case = dict[str, Any]
COVERS = {"w123", "w124"}
NO_FLOWS = pd.DataFrame(
    {"zone": [], "since": pd.to_datetime([]), "until": pd.to_datetime([]), "paper_lph": [], "tested_lph": [],
     "flow_lph": [], "sd_share": [], "source": []}
)  # fmt: skip


def ask(
    intervals: pd.DataFrame, runs: pd.DataFrame, flows: pd.DataFrame, people: int, zone: ZoneInfo, as_of: date
) -> MeterAccount:
    """The account of a house with nothing written down but its programs, as of the start of a day."""
    now = datetime(as_of.year, as_of.month, as_of.day, tzinfo=UTC)
    return account(intervals, runs, flows, table("other_use"), table("household"), people, "", zone, now)


def no_runs(zone: ZoneInfo, first: date) -> pd.DataFrame:
    return runs_between(
        table("program"), table("pause"), table("run"), table("controller"), table("clock_check"), table("zone"),
        zone, first, first,
    )  # fmt: skip


# --- the drip in Spain ------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def drip() -> pd.DataFrame:
    return spanish("meter_daiad_a_smallleak_fixed.csv")


def drip_house(drip: pd.DataFrame, day: date) -> MeterAccount:
    """People are not in the file; three is the test's own round number."""
    return ask(drip, no_runs(MADRID, date(2016, 3, 1)), NO_FLOWS, 3, MADRID, day)


def test_the_drip_is_told_while_it_goes_on(drip: pd.DataFrame) -> None:
    """The file's note: "a continuous drip of about 0.5 gal/h", night median 2 L a reading; seen from its first day."""
    found = drip_house(drip, date(2016, 3, 12)).findings
    assert [f.kind for f in found] == ["steady"]
    assert found[0].until is None
    assert found[0].strength == "strong"
    assert found[0].rate_lph is not None
    assert 0.35 < found[0].rate_lph / GALLON_L < 0.75


def test_the_end_of_the_drip_is_noticed(drip: pd.DataFrame) -> None:
    """The file's note: it "stopped between 2016-05-04 and about 06-01"; by the end of June it is over."""
    found = drip_house(drip, date(2016, 6, 30)).findings
    leak = found[0]
    assert leak.kind == "steady"
    assert leak.since < datetime(2016, 3, 2, tzinfo=UTC)
    assert leak.until is not None
    assert datetime(2016, 5, 4, tzinfo=UTC) <= leak.until <= datetime(2016, 6, 2, tzinfo=UTC)
    assert not [f for f in found if f.until is None]
    assert len(found) <= 2  # no storm: it wavers as it fades


def test_a_few_days_of_the_drip_tell_nothing_yet(drip: pd.DataFrame) -> None:
    """Four nights of a house nobody knows: not enough to say that it never rests. No source; the project's own bar."""
    found = drip_house(drip, date(2016, 3, 5))
    assert found.findings == ()
    assert all(h.rate_lph is None and "too few readings" in h.sentence for h in found.hide)


# --- site 019: a house without a leak ---------------------------------------------------------------------------


@pytest.mark.parametrize("people", [2, 4])
def test_five_days_of_a_house_without_a_leak_alarm_nobody(people: int) -> None:
    """The file's note: "NO LEAK ... good negative control", and the trickle of 2019-10-06 must not be called one. How
    many live there is not in it. The first and last hour are partial and left out."""
    rows = pd.read_csv(REAL_DATA / "meter_utah_site019_hourly.csv").iloc[1:-1]
    assert (rows["samples"] == 900).all()
    start = [local(t) for t in rows["read_at"]]
    hourly = table(
        "metered_use",
        *(
            {"meter": "main", "start": a, "end": a + timedelta(hours=1), "volume_l": g * GALLON_L}
            for a, g in zip(start, rows["gallons"], strict=True)
        ),
    )
    intervals = meter_intervals(table("meter_reading"), meters(), hourly)
    found = ask(intervals, no_runs(DENVER, date(2019, 10, 4)), NO_FLOWS, people, DENVER, date(2019, 10, 10))
    assert found.findings == ()
    assert found.intervals["metered_l"].sum() == pytest.approx(rows["gallons"].sum() * GALLON_L)


# --- the labelled garden in Utah --------------------------------------------------------------------------------

# Flows on paper are the test's own round numbers, off by a few per cent from what the events show.
PAPER_GPH = {"drip": 72.0, "lawn": 1250.0}
KIND_OF = {"drip": "low_flow_60_min", "lawn": "spray_set_6_zones"}


def utah_runs(follows_dst: bool = True) -> pd.DataFrame:
    """The file's note: low flow every day 03:45 for 60 min; the six spray zones on even days 05:00 for 142 min."""
    same = {"label": "a", "since": date(2020, 7, 1)}
    return runs_between(
        table(
            "program",
            {"zone": "drip", "days": "daily", "starts": "03:45", "minutes": 60, **same},
            {"zone": "lawn", "days": "even", "starts": "05:00", "minutes": 142, **same},
        ),
        table("pause"),
        table("run"),
        table("controller", {"code": "c1", "name": "Box", "follows_dst": follows_dst}),
        table("clock_check"),
        table("zone", *({"code": z, "name": z, "supply": "city", "controller": "c1"} for z in PAPER_GPH)),
        DENVER,
        date(2020, 7, 20),
        date(2020, 8, 4),
    )


def utah_account(intervals: pd.DataFrame, follows_dst: bool = True) -> MeterAccount:
    """Five people (published)."""
    paper = [g * GALLON_L for g in PAPER_GPH.values()]
    flows = pd.DataFrame(
        {"zone": list(PAPER_GPH), "since": pd.NaT, "until": pd.NaT, "paper_lph": paper, "tested_lph": np.nan,
         "flow_lph": paper, "sd_share": 0.15, "source": "emitters"}
    )  # fmt: skip
    return ask(intervals, utah_runs(follows_dst), flows, 5, DENVER, date(2020, 8, 5))


@pytest.fixture(scope="module")
def garden() -> MeterAccount:
    return utah_account(utah_hourly())


def test_a_whole_house_series_with_its_programs_raises_no_alarm(garden: MeterAccount) -> None:
    """The file's notes: no leak by construction; 21 hours in a row without a rest are no reason for one."""
    assert garden.findings == ()


@pytest.mark.parametrize("zone", list(PAPER_GPH))
def test_both_patterns_of_irrigation_are_recovered_from_the_whole_house(garden: MeterAccount, zone: str) -> None:
    """Each zone's flow against the labelled events' own: gallons over minutes of all events of its kind."""
    mine = irrigation()[lambda e: e["kind"] == KIND_OF[zone]]
    labelled_gph = mine["gallons"].sum() / mine["dur_min"].sum() * 60
    row = garden.delivery.set_index("zone").loc[zone]
    assert row["told_apart"]
    assert row["factor"] * PAPER_GPH[zone] == pytest.approx(labelled_gph, rel=0.05)


def test_what_is_put_down_to_irrigation_is_what_was_labelled_so(garden: MeterAccount) -> None:
    """The file's note: irrigation 21 events, 22,093.45 gal."""
    zones = garden.by_day[garden.by_day["part"].str.startswith("zone:")]
    assert zones["volume_l"].sum() / GALLON_L == pytest.approx(22_093.45, rel=0.05)
    for zone, kind in KIND_OF.items():
        labelled = irrigation()[lambda e, kind=kind: e["kind"] == kind]["gallons"].sum()
        put_down = zones.loc[zones["part"] == f"zone:{zone}", "volume_l"].sum() / GALLON_L
        assert put_down == pytest.approx(labelled, rel=0.05)


def test_a_controller_an_hour_off_is_one_finding() -> None:
    """The same house with a controller written down as keeping winter time all year: by the book its runs come an hour
    later than the labelled events do."""
    found = utah_account(utah_hourly(), follows_dst=False).findings
    assert [f.kind for f in found] == ["another_schedule"]
    assert set(found[0].group) == set(PAPER_GPH)
    assert "1.0 h earlier" in found[0].evidence[0]


# --- zones from the meter by least squares ----------------------------------------------------------------------


def _run_columns() -> tuple[pd.DataFrame, pd.DataFrame]:
    """Minutes of each kind of labelled event in each hour, and the hours."""
    events, hours = irrigation(), utah_hourly()
    ran = table(
        "run",
        *(
            {"zone": kind, "at": local(a), "duration_min": minutes}
            for kind, a, minutes in zip(events["kind"], events["start"], events["dur_min"], strict=True)
        ),
    )
    runs = runs_between(
        table("program"), table("pause"), ran, table("controller"), table("clock_check"), table("zone"), DENVER,
        date(2020, 7, 20), date(2020, 8, 5),
    )  # fmt: skip
    return brought(runs, hours, dict.fromkeys(KIND_OF.values(), 60.0)), hours  # a litre a minute


@pytest.mark.parametrize("case", of("w123"))
def test_plain_least_squares_gives_the_published_flows(case: Case) -> None:
    """With priors that hold nothing and no reading cut back the factors' fit is nonnegative least squares."""
    minutes, hours = _run_columns()
    x = np.column_stack([minutes[KIND_OF["lawn"]], minutes[KIND_OF["drip"]], np.ones(len(hours))])
    loose = 1e6
    fit = ridge(
        x, hours["volume_l"].to_numpy() / GALLON_L, np.full(len(x), loose), np.zeros(3), np.full(3, loose * loose),
        np.zeros(3),
    )  # fmt: skip
    assert fit.value.tolist() == pytest.approx(list(case["expected"].values()), abs=case["tolerance"])


@pytest.mark.parametrize("case", of("w124"))
def test_daily_totals_cannot_tell_a_zone_that_runs_the_same_every_day(case: Case) -> None:
    """Thirteen full days, midnight to midnight: the account says so, and leaves the zone at its flow on paper."""
    hourly = utah_hourly()
    day = hourly["start"].dt.tz_convert(DENVER).dt.date
    full = hourly[day.map(day.value_counts()) == 24]
    groups = full.groupby(day[full.index])
    daily = groups.first().assign(end=groups["end"].last(), volume_l=groups["volume_l"].sum()).reset_index(drop=True)
    assert f"{len(daily)} full days" in case["inputs"]["meter"]
    found = utah_account(daily[hourly.columns])
    row = found.delivery.set_index("zone").loc["drip"]
    assert bool(row["told_apart"]) is case["expected"]
    assert "the flow on paper counts" in row["note"] or "in all" in row["note"]
    assert found.findings == ()
