"""Zone flow: emitters added up by hand, tests by volume over time."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

import pandas as pd
import pytest

from core.accounts.flow import dated_by_day, planting_shares, zone_flows
from tests.core.accounts.frames import local, table

TEN_BUTTONS = {"code": "buttons", "since": "2026-04-01", "count": 10, "flow_each_lph": 2.0, "waters": "tubs"}


def flows(
    groups: list[dict[str, Any]], tests: list[dict[str, Any]] | None = None, kpa: float | None = None, **zone: Any
) -> pd.DataFrame:
    return zone_flows(
        table("zone", {"code": "beds", "name": "Beds", "supply": "city", **zone}),
        table("emitter_group", *({"zone": "beds", **g} for g in groups)),
        table("flow_test", *({"zone": "beds", **t} for t in (tests or []))),
        table("supply", {"code": "city", "name": "City", "drip_pressure_kpa": kpa}),
    )


def on(found: pd.DataFrame, day: date) -> pd.Series:
    held = found[(found["since"] <= pd.Timestamp(day)) & ~(found["until"] <= pd.Timestamp(day))]
    assert len(held) == 1
    return held.iloc[0]


def test_emitters_on_paper_add_up() -> None:
    line = {"code": "line", "since": "2026-04-01", "length_m": 30.0, "flow_along_lph_m": 4.0, "waters": "hedge"}
    found = on(flows([TEN_BUTTONS, line]), date(2026, 5, 1))
    assert found["paper_lph"] == found["flow_lph"] == 140
    assert math.isnan(found["tested_lph"])
    assert found["sd_share"] == 0.15


def test_emitters_work_at_the_regulated_pressure() -> None:
    """Turbulent emitters (exponent 0.5) rated at 100 kPa give the square root of 2.25 at 225 kPa."""
    turbulent = {**TEN_BUTTONS, "exponent": 0.5, "rated_pressure_kpa": 100.0}
    assert on(flows([turbulent], kpa=225.0), date(2026, 5, 1))["paper_lph"] == pytest.approx(30)
    assert on(flows([turbulent]), date(2026, 5, 1))["paper_lph"] == pytest.approx(20)


def test_stretches_follow_the_emitters() -> None:
    later = {**TEN_BUTTONS, "code": "more", "since": "2026-06-01", "until": "2026-08-01"}
    found = flows([TEN_BUTTONS, later], since="2026-04-01", until="2026-10-01")
    assert found["since"].dt.strftime("%m-%d").tolist() == ["04-01", "06-01", "08-01"]
    assert found["until"].dt.strftime("%m-%d").tolist() == ["06-01", "08-01", "10-01"]
    assert found["flow_lph"].tolist() == [20, 40, 20]
    by_day = dated_by_day(found, date(2026, 5, 31), date(2026, 6, 1), "flow_lph", "zone")
    assert by_day["beds"].tolist() == [20, 40]
    assert dated_by_day(found, date(2026, 10, 1), date(2026, 10, 1), "flow_lph", "zone")["beds"].isna().all()


def test_the_newest_test_before_the_day_holds_and_paper_stays_visible() -> None:
    tests = [
        {"at": local("2026-05-03T20:00"), "volume_l": 2.5, "duration_min": 6.0},
        {"at": local("2026-07-01T08:00"), "volume_l": 4.0, "duration_min": 15.0},
    ]
    found = flows([TEN_BUTTONS], tests)
    before, first, second = (on(found, d) for d in (date(2026, 5, 2), date(2026, 5, 3), date(2026, 8, 1)))
    assert (before["flow_lph"], first["flow_lph"], second["flow_lph"]) == (20, 25, 16)
    assert first["paper_lph"] == second["paper_lph"] == 20
    assert first["source"] == "test of 2026-05-03"  # 20:00 in Denver is the next day in UTC
    assert first["sd_share"] == 0.05


def test_a_test_is_scaled_when_emitters_were_added_since() -> None:
    """Tested 10 % under paper; with half as many emitters again it is taken to stay 10 % under."""
    more = {**TEN_BUTTONS, "code": "more", "since": "2026-06-01", "count": 5}
    found = on(
        flows([TEN_BUTTONS, more], [{"at": local("2026-05-03T08:00"), "volume_l": 3.0, "duration_min": 10.0}]),
        date(2026, 7, 1),
    )
    assert (found["paper_lph"], found["tested_lph"]) == (30, 18)
    assert found["flow_lph"] == pytest.approx(27)
    assert "scaled" in found["source"]
    assert found["sd_share"] == 0.10


def test_a_flow_written_with_the_zone_goes_before_paper_and_after_a_test() -> None:
    test = {"at": local("2026-07-01T08:00"), "volume_l": 4.0, "duration_min": 15.0}
    found = flows([TEN_BUTTONS], [test], flow_lph=19.0)
    assert on(found, date(2026, 5, 1))["flow_lph"] == 19
    assert on(found, date(2026, 7, 1))["flow_lph"] == 16


def test_a_later_test_stands_in_where_nothing_else_is_known_and_else_flow_is_not_known() -> None:
    test = {"at": local("2026-07-01T08:00"), "volume_l": 4.0, "duration_min": 15.0}
    assert on(flows([], [test]), date(2026, 5, 1))["flow_lph"] == 16
    unknown = flows([])
    assert len(unknown) == 1
    assert math.isnan(unknown["flow_lph"][0])
    assert unknown["source"][0] == "not known"


def test_a_test_of_the_supply_says_nothing_of_a_zone() -> None:
    test = {"zone": None, "supply": "city", "at": local("2026-07-01T08:00"), "volume_l": 400.0, "duration_min": 15.0}
    assert on(flows([TEN_BUTTONS], [test]), date(2026, 8, 1))["flow_lph"] == 20


def test_shares_of_plantings_by_flow() -> None:
    """20 L/h to the tubs, 120 L/h of which a quarter to herbs and the rest to the hedge; the tubs leave in June."""
    line = {
        "code": "line",
        "since": "2026-04-01",
        "length_m": 30.0,
        "flow_along_lph_m": 4.0,
        "waters": "hedge:3 herbs:1",
    }
    shares = planting_shares(
        table("zone", {"code": "beds", "name": "Beds", "supply": "city"}),
        table("emitter_group", *({"zone": "beds", **g} for g in ({**TEN_BUTTONS, "until": "2026-06-01"}, line))),
        table("supply", {"code": "city", "name": "City"}),
    )
    may = shares[shares["since"] == pd.Timestamp("2026-04-01")].set_index("planting")["share"]
    june = shares[shares["since"] == pd.Timestamp("2026-06-01")].set_index("planting")["share"]
    assert may.to_dict() == pytest.approx({"tubs": 20 / 140, "hedge": 90 / 140, "herbs": 30 / 140})
    assert june.to_dict() == pytest.approx({"hedge": 0.75, "herbs": 0.25})
