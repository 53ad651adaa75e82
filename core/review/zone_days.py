"""What became of every zone on every day: ran, missed, presumed, still due, paused, off."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.evidence import AGAINST, FOR
from core.accounts.runs import runs_between
from core.book.frames import Frames

KILLING_FROST_C = -4.0  # FAO-56 Table 11


def zone_days(
    frames: Frames,
    tz: ZoneInfo,
    days: pd.DatetimeIndex,
    as_of: datetime,
    runs: pd.DataFrame,
    applied: pd.DataFrame,
    plant_days: pd.DataFrame,
    sky: pd.DataFrame,
    evidence: pd.DataFrame,
    *,
    south: bool,
) -> pd.DataFrame:
    """One row per zone and local day.

    States: "ran" (somebody or the meter vouches for it), "missed" (recorded as not having run, or the meter
    contradicts it), "presumed" (nobody can say), "due" (its first run of the day had not begun by ``as_of``), "paused"
    (it would have run but was held off on purpose), "off" (its program rests that day), "none" (no program). On a day
    with several runs the best known of those begun names the state.

    Returns:
        day, zone, hand, state, evidence, run_minutes, missed_runs, applied_l, need_l, need_known (False where plants
        stand and the weather is not known; need_l is 0 then), effective_rain_l, percolated_l, rain_mm, stressed,
        resting, unwritten (a zone watered by hand, of which nobody wrote anything down in the whole calendar month:
        what its plants got is not known, so none counts as short of water).
    """
    started = (runs["start"] <= pd.Timestamp(as_of)).to_numpy(bool)
    begun, coming = runs[started], runs[~started & (runs["basis"] != "did_not").to_numpy(bool)]
    counts = begun.groupby(["zone", "day", "basis"]).size().unstack("basis")
    counts = counts.reindex(columns=["presumed", "ran", "did_not"]).fillna(0)
    table = applied.set_index(["zone", "day"])[["run_minutes", "applied_l"]]
    zones = frames["zone"].set_index("code")
    table = table[table.index.get_level_values("zone").isin(zones.index)]
    counts = counts.reindex(table.index).fillna(0)
    said = evidence.set_index(["zone", "day"])["evidence"] if len(evidence) else pd.Series(dtype=object)
    said = said[~said.index.duplicated()].reindex(table.index).fillna("") if len(said) else pd.Series("", table.index)
    none_begun = (counts.sum(axis=1) == 0).to_numpy()
    due = table.index.isin(pd.MultiIndex.from_frame(coming[["zone", "day"]])) & none_begun
    paused = table.index.isin(_would_run(frames, tz, days)) & none_begun
    programmed = _programmed(frames["program"], table.index)
    state = np.select(
        [
            (counts["ran"] > 0).to_numpy(),
            (counts["presumed"] > 0).to_numpy() & (said == AGAINST).to_numpy(),
            (counts["presumed"] > 0).to_numpy() & (said == FOR).to_numpy(),
            (counts["presumed"] > 0).to_numpy(),
            (counts["did_not"] > 0).to_numpy(),
            due,
            paused,
            programmed,
        ],
        ["ran", "missed", "ran", "presumed", "missed", "due", "paused", "off"],
        default="none",
    )
    plants = _plants(plant_days).reindex(table.index)
    zone, day = table.index.get_level_values("zone"), pd.DatetimeIndex(table.index.get_level_values("day"))
    out = pd.DataFrame(
        {
            "day": day,
            "zone": zone,
            "hand": zones["hand"].reindex(zone).to_numpy(bool),
            "state": state,
            "evidence": said.to_numpy(object),
            "run_minutes": table["run_minutes"].to_numpy(float),
            "missed_runs": counts["did_not"].to_numpy(int)
            + np.where(said == AGAINST, counts["presumed"], 0).astype(int),
            "applied_l": table["applied_l"].to_numpy(float),
            "need_l": plants["need_l"].fillna(0.0).to_numpy(float),
            "need_known": ~plants["unknown"].eq(True).to_numpy(bool),
            "effective_rain_l": plants["effective_rain_l"].fillna(0.0).to_numpy(float),
            "percolated_l": plants["percolated_l"].fillna(0.0).to_numpy(float),
            "rain_mm": sky["rain_mm"].reindex(day).to_numpy(float),
            "resting": _winter(frames["pause"], day)
            | _after_killing_frost(sky, south=south)[sky.index.get_indexer(day)],
        }
    )
    given = out.groupby(["zone", out["day"].dt.to_period("M")])["applied_l"].transform("sum")
    out["unwritten"] = out["hand"] & given.eq(0) & out["state"].eq("none")
    # Plants at rest do not suffer as they would in leaf; no stress is counted then.
    calm = (out["resting"] | out["unwritten"]).to_numpy(bool)
    return out.assign(stressed=plants["stressed"].eq(True).to_numpy(bool) & ~calm)


def _plants(plant_days: pd.DataFrame) -> pd.DataFrame:
    litres = plant_days[["zone", "day"]].assign(
        need_l=plant_days["need_mm"] * plant_days["area_m2"],
        effective_rain_l=plant_days["effective_rain_mm"] * plant_days["area_m2"],
        percolated_l=plant_days["percolated_mm"] * plant_days["area_m2"],
        stressed=plant_days["stressed"],
        unknown=plant_days["need_mm"].isna(),
    )
    return litres.groupby(["zone", "day"]).agg(
        {"need_l": "sum", "effective_rain_l": "sum", "percolated_l": "sum", "stressed": "max", "unknown": "max"}
    )


def _would_run(frames: Frames, tz: ZoneInfo, days: pd.DatetimeIndex) -> pd.MultiIndex:
    """Zone and day of every run the programs ask for, pauses or not."""
    asked = runs_between(
        frames["program"],
        frames["pause"].iloc[:0],
        frames["run"].iloc[:0],
        frames["controller"],
        frames["clock_check"],
        frames["zone"],
        tz,
        days[0].date() - timedelta(days=1),
        days[-1].date(),
    )
    return pd.MultiIndex.from_frame(asked[["zone", "day"]].drop_duplicates())


def _programmed(programs: pd.DataFrame, index: pd.Index) -> np.ndarray:
    zone = index.get_level_values("zone").to_numpy(object)
    day = pd.DatetimeIndex(index.get_level_values("day")).to_numpy()
    held = np.zeros(len(index), dtype=bool)
    of = {code: zone == code for code in programs["zone"].unique()}
    for row in programs.to_dict("records"):
        ends = pd.Timestamp.max if pd.isna(row["until"]) else row["until"]
        held |= of[row["zone"]] & (day >= np.datetime64(row["since"])) & (day < np.datetime64(ends))
    return held


def _after_killing_frost(sky: pd.DataFrame, *, south: bool) -> np.ndarray:
    """Days from autumn's first night of -4 C or colder to the end of winter.

    FAO-56 Table 11 takes -4 C as the killing frost that ends the season. Autumn is looked for from 1 August and
    winter taken to end on 1 March; half a year later in the south.
    """
    month = (pd.DatetimeIndex(sky.index).month.to_numpy() + (6 if south else 0) - 1) % 12 + 1
    cold = (sky["tmin_c"] <= KILLING_FROST_C).to_numpy()
    autumn = np.isin(month, (8, 9, 10, 11, 12, 1, 2))
    season = np.cumsum(np.diff(autumn.astype(int), prepend=0) == 1)
    frozen = pd.Series(cold & autumn).groupby(season).cummax().to_numpy(bool)
    resting: np.ndarray = frozen & autumn
    return resting


def _winter(pauses: pd.DataFrame, day: pd.DatetimeIndex) -> np.ndarray:
    held = np.zeros(len(day), dtype=bool)
    for row in pauses[(pauses["reason"] == "winter") & (pauses["scope"] == "all")].to_dict("records"):
        ends = pd.Timestamp.max if pd.isna(row["until"]) else row["until"]
        held |= (day >= row["since"]) & (day < ends)
    return held
