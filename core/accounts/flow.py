"""How much water a zone takes an hour: on paper, by a test, and the figure that holds on each day."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from core.accounts.instants import day_range
from core.notation import parse_shares
from core.water.emitters import group_flow_lph

# Spread of a zone's flow as a share of it. A timed test is within 5 to 10 %; paper flow leaves out pressure at
# the emitter, elevation and wear. Common practice, no source.
TESTED_SPREAD, STATED_SPREAD, SCALED_SPREAD, PAPER_SPREAD = 0.05, 0.08, 0.10, 0.15
EVER = pd.Timestamp("1900-01-01")
COLUMNS = ("zone", "since", "until", "paper_lph", "tested_lph", "flow_lph", "sd_share", "source")


def zone_flows(
    zones: pd.DataFrame, emitter_groups: pd.DataFrame, flow_tests: pd.DataFrame, supplies: pd.DataFrame
) -> pd.DataFrame:
    """Flow of every zone, in stretches of days over which nothing about it changed.

    The newest timed test of the zone holds from its day on; where emitters were added or taken away since, it is
    scaled by their flow on paper then and now. Without a test the flow written with the zone holds, without that
    the emitters on paper; where there is nothing else, a later test stands in. Paper and tested flow both stay
    visible.

    Args:
        zones, emitter_groups, flow_tests, supplies: frames of the book. Emitters work at the supply's pressure
            after its regulator (:func:`core.water.emitters.group_flow_lph`).

    Returns:
        zone, since, until (naive days; ``until`` is the first day it no longer holds, NaT while it does),
        paper_lph, tested_lph (NaN: none), flow_lph (NaN: not known), sd_share (spread as a share of the flow),
        source (words). A zone without a first day has flows from 1900 on.
    """
    pressures = supplies.set_index("code")["drip_pressure_kpa"]
    tests = flow_tests[flow_tests["zone"].notna() & (flow_tests["zone"] != "")].sort_values(
        ["at", "nth"], kind="stable"
    )
    wall = pd.DatetimeIndex(tests["at"]).tz_localize(None) + pd.to_timedelta(
        tests["at_offset_min"].to_numpy(), unit="min"
    )
    tests = tests.assign(day=wall.normalize(), lph=tests["volume_l"] / tests["duration_min"] * 60)
    rows = [
        row
        for zone in zones.to_dict("records")
        for row in _stretches(
            zone,
            emitter_groups[emitter_groups["zone"] == zone["code"]].to_dict("records"),
            tests[tests["zone"] == zone["code"]][["day", "lph"]].to_dict("records"),
            float(pressures.get(zone["supply"], np.nan)),
        )
    ]
    table = pd.DataFrame(rows, columns=list(COLUMNS))
    return table.astype(
        dict.fromkeys(("since", "until"), "datetime64[ns]")
        | dict.fromkeys(("paper_lph", "tested_lph", "flow_lph", "sd_share"), float)
    )


def dated_by_day(dated: pd.DataFrame, first: date, last: date, column: str, key: str) -> pd.DataFrame:
    """A column of any frame with ``since`` and ``until`` (NaT: open) on each local day: days by ``key``."""
    days = day_range(first, last).rename("day")
    table = pd.DataFrame(np.nan, index=days, columns=pd.Index(dated[key].unique(), name=key), dtype=float)
    for row in dated.to_dict("records"):
        opens = days[0] if pd.isna(row["since"]) else row["since"]
        closes = days[-1] if pd.isna(row["until"]) else row["until"] - pd.Timedelta(days=1)
        table.loc[opens:closes, row[key]] = row[column]
    return table


def planting_shares(zones: pd.DataFrame, emitter_groups: pd.DataFrame, supplies: pd.DataFrame) -> pd.DataFrame:
    """How a zone's water divides over its plantings: zone, planting, since, until, share (summing to 1).

    The share of a planting is the flow on paper of what waters it over that of all emitters of the zone.
    """
    pressures = supplies.set_index("code")["drip_pressure_kpa"]
    rows: list[tuple[object, ...]] = []
    for zone in zones.to_dict("records"):
        groups = emitter_groups[emitter_groups["zone"] == zone["code"]].to_dict("records")
        kpa = float(pressures.get(zone["supply"], np.nan))
        opens = sorted({d for g in groups for d in (g["since"], g["until"]) if not pd.isna(d)})
        for since, until in zip(opens, [*opens[1:], pd.NaT][: len(opens)], strict=True):
            flows: dict[str, float] = {}
            for group in _held(groups, since):
                for planting, share in parse_shares(group["waters"]).parts:
                    flows[planting] = flows.get(planting, 0.0) + share * _group_lph(group, kpa)
            total = sum(flows.values())
            rows += [(zone["code"], p, since, until, f / total) for p, f in flows.items() if total > 0]
    table = pd.DataFrame(rows, columns=["zone", "planting", "since", "until", "share"])
    return table.astype({"since": "datetime64[ns]", "until": "datetime64[ns]", "share": float})


def _stretches(
    zone: dict[Any, Any], groups: list[dict[Any, Any]], tests: list[dict[Any, Any]], pressure_kpa: float
) -> list[tuple[object, ...]]:
    begins = EVER if pd.isna(zone["since"]) else pd.Timestamp(zone["since"])
    changes = {d for g in groups for d in (g["since"], g["until"]) if not pd.isna(d)} | {t["day"] for t in tests}
    ends = pd.NaT if pd.isna(zone["until"]) else pd.Timestamp(zone["until"])
    opens = [begins, *sorted(d for d in changes if d > begins and (pd.isna(ends) or d < ends))]
    return [
        (zone["code"], since, until, *_flow_on(since, zone, groups, tests, pressure_kpa))
        for since, until in zip(opens, [*opens[1:], ends], strict=True)
    ]


def _flow_on(
    day: pd.Timestamp, zone: dict[Any, Any], groups: list[dict[Any, Any]], tests: list[dict[Any, Any]], kpa: float
) -> tuple[float, float, float, float, str]:
    """paper, tested, flow, spread and source on one day."""
    paper = _paper(groups, day, kpa)
    before = [t for t in tests if t["day"] <= day]
    stated = float(zone["flow_lph"])
    if before:
        tested, words = float(before[-1]["lph"]), f"test of {before[-1]['day']:%Y-%m-%d}"
        scale = paper / _paper(groups, before[-1]["day"], kpa)
        if np.isfinite(scale) and abs(scale - 1) > 1e-9:
            return paper, tested, tested * scale, SCALED_SPREAD, f"{words}, scaled to the emitters changed since"
        return paper, tested, tested, TESTED_SPREAD, words
    if np.isfinite(stated):
        return paper, stated, stated, STATED_SPREAD, "flow written with the zone"
    if np.isfinite(paper):
        return paper, np.nan, paper, PAPER_SPREAD, "emitters on paper"
    if tests:
        return paper, np.nan, float(tests[0]["lph"]), SCALED_SPREAD, f"test of {tests[0]['day']:%Y-%m-%d}, made later"
    return paper, np.nan, np.nan, np.nan, "not known"


def _paper(groups: list[dict[Any, Any]], day: pd.Timestamp, pressure_kpa: float) -> float:
    flows = [_group_lph(g, pressure_kpa) for g in _held(groups, day)]
    return float(sum(flows)) if flows else float("nan")


def _held(groups: list[dict[Any, Any]], day: pd.Timestamp) -> list[dict[Any, Any]]:
    return [g for g in groups if g["since"] <= day and (pd.isna(g["until"]) or day < g["until"])]


def _group_lph(group: dict[Any, Any], pressure_kpa: float) -> float:
    return group_flow_lph(
        group["count"],
        group["flow_each_lph"],
        group["length_m"],
        group["flow_along_lph_m"],
        exponent=group["exponent"],
        rated_pressure_kpa=group["rated_pressure_kpa"],
        pressure_kpa=pressure_kpa,
    )
