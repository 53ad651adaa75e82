"""Runs: those the programs let us presume, put right by those somebody wrote down, and their minutes by span."""

from __future__ import annotations

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from core.accounts.clocks import clock_of
from core.accounts.instants import (
    HOUR_MS,
    MINUTE_MS,
    Days,
    Flags,
    Floats,
    Ints,
    day_edges,
    from_ms,
    local_days,
    to_ms,
)
from core.accounts.winters import winter_pauses
from core.notation import DayPattern, parse_days, parse_starts

SAME_RUN_MS = 2 * HOUR_MS  # a recorded start this near a presumed one is that run; common practice, no source
COLUMNS = ("zone", "label", "day", "start", "end", "minutes", "basis", "why")


def runs_between(
    programs: pd.DataFrame,
    pauses: pd.DataFrame,
    runs: pd.DataFrame,
    controllers: pd.DataFrame,
    clock_checks: pd.DataFrame,
    zones: pd.DataFrame,
    tz: ZoneInfo,
    first: date,
    last: date,
) -> pd.DataFrame:
    """Every run that starts on a local day from ``first`` to ``last``, both included.

    Programs give presumed runs on the controller's clock (:class:`core.accounts.clocks.Clock`), while the zone is
    in use and neither it nor all zones are paused that day; zones watered by hand have none. Then what was
    written down holds:

    - A record with a start within 2 h of a presumed one (each to its nearest) replaces that run; one further off
      is a run of its own.
    - A record of a day alone stands for all other runs of the zone that day: its minutes are the day's total and
      are divided over the presumed runs in proportion. Where none was presumed it stands at noon.
    - Runs of a zone may overlap here; nothing is queued.

    Returns:
        zone, label ("" for a run no program expects), day (local, naive), start, end (UTC), minutes, basis
        ("presumed", "ran", "did_not"), why. For did_not the times and minutes are what would have been (0
        minutes where nothing was expected). By start, then zone. A run begun before ``first`` that reaches into
        it is not here: ask from a day earlier where that matters.
    """
    shown = _presumed(programs, controllers, clock_checks, zones, tz, (first, last))
    shown = shown[~_paused(shown, pauses)].reset_index(drop=True)
    table = _with_records(shown, runs, tz, (first, last))
    day = table["day"].to_numpy().astype("datetime64[D]")
    kept = table[(day >= np.datetime64(first)) & (day <= np.datetime64(last))]
    return kept.sort_values(["start", "zone", "label"], kind="stable", ignore_index=True)[list(COLUMNS)]


def runs_held(
    programs: pd.DataFrame,
    pauses: pd.DataFrame,
    controllers: pd.DataFrame,
    clock_checks: pd.DataFrame,
    zones: pd.DataFrame,
    tz: ZoneInfo,
    first: date,
    last: date,
) -> pd.DataFrame:
    """Runs the programs would start from ``first`` to ``last`` but for the shutdown for winter: what comes if the
    controller was not really switched off. Columns as of :func:`runs_between`, by start, then zone.
    """
    shown = _presumed(programs, controllers, clock_checks, zones, tz, (first, last))
    day = shown["day"].to_numpy().astype("datetime64[D]")
    off = _paused(shown, winter_pauses(pauses)) & (day >= np.datetime64(first)) & (day <= np.datetime64(last))
    return shown[off].sort_values(["start", "zone", "label"], kind="stable", ignore_index=True)[list(COLUMNS)]


def waters_on(pattern: DayPattern, days: Days) -> Flags:
    """Whether a pattern waters on each day of ``days`` (datetime64[D])."""
    number = days.astype("datetime64[D]").astype(np.int64)
    if pattern.form == "weekdays":
        return np.isin((number + 3) % 7, list(pattern.weekdays))  # 1970-01-01 was a Thursday, weekday 3
    if pattern.form == "every":
        if pattern.anchor is None:
            return np.zeros(len(days), dtype=bool)
        since_anchor: Ints = number - np.datetime64(pattern.anchor, "D").astype(np.int64)
        return np.asarray(since_anchor % pattern.every == 0)
    of_month = (days - days.astype("datetime64[M]")).astype(np.int64) + 1
    return np.asarray(of_month % 2 == (1 if pattern.form == "odd" else 0))


def _presumed(
    programs: pd.DataFrame,
    controllers: pd.DataFrame,
    clock_checks: pd.DataFrame,
    zones: pd.DataFrame,
    tz: ZoneInfo,
    span: tuple[date, date],
) -> pd.DataFrame:
    by_zone = {str(z["code"]): z for z in zones.to_dict("records")}
    clocks = {
        c: clock_of(c, controllers, clock_checks, tz)
        for c in {z["controller"] if isinstance(z["controller"], str) else None for z in by_zone.values()}
    }
    # A clock may be off by hours, so a start shown on a neighbouring day can fall into the span.
    opens, closes = np.datetime64(span[0] - timedelta(days=1)), np.datetime64(span[1] + timedelta(days=2))
    parts = []
    for program in programs.to_dict("records"):
        zone = by_zone.get(program["zone"])
        minutes = float(program["minutes"]) * float(program["percent"]) / 100
        if zone is None or zone["hand"] or minutes <= 0:
            continue
        since = [_day(d) for d in (program["since"], zone["since"]) if not pd.isna(d)]
        until = [_day(d) for d in (program["until"], zone["until"]) if not pd.isna(d)]
        begins = max([opens, *since])
        days = np.arange(begins, max(begins, min([closes, *until])))
        days = days[waters_on(parse_days(program["days"]), days)]
        starts = [t.hour * 60 + t.minute for t in parse_starts(program["starts"]).times]
        wall = (days[:, None].astype("datetime64[m]") + np.array(starts, dtype="timedelta64[m]")).ravel()
        controller = zone["controller"] if isinstance(zone["controller"], str) else None
        parts.append((program["zone"], program["label"], controller, minutes, wall))
    of = np.repeat(np.arange(len(parts)), [len(p[4]) for p in parts])
    zone_code, label, by, minutes_each = (np.array([p[k] for p in parts], dtype=object)[of] for k in range(4))
    wall = np.concatenate([p[4] for p in parts]) if parts else np.empty(0, "datetime64[m]")
    start = np.empty(len(wall), np.int64)
    for controller, clock in clocks.items():  # all of a clock's times at once
        mine = by == controller
        start[mine] = clock.instants(wall[mine])
    return _table(zone_code, label, start, minutes_each.astype(float), tz)


def _paused(table: pd.DataFrame, pauses: pd.DataFrame) -> Flags:
    day, zone = table["day"].to_numpy(), table["zone"].to_numpy(dtype=object)
    paused = np.zeros(len(table), dtype=bool)
    for pause in pauses.to_dict("records"):
        off = day >= np.datetime64(pause["since"])
        if not pd.isna(pause["until"]):
            off &= day < np.datetime64(pause["until"])
        paused |= off if pause["scope"] == "all" else off & (zone == pause["scope"])
    return paused


def _with_records(shown: pd.DataFrame, runs: pd.DataFrame, tz: ZoneInfo, span: tuple[date, date]) -> pd.DataFrame:
    at = to_ms(runs["at"])
    edges = day_edges(span[0] - timedelta(days=1), span[1] + timedelta(days=1), tz)
    near = (at >= edges[0]) & (at < edges[-1])
    runs, at = runs[near], at[near]
    if not len(runs):
        return shown
    zone = runs["zone"].to_numpy(dtype=object)
    ran, minutes = runs["ran"].to_numpy(dtype=bool), runs["duration_min"].fillna(0.0).to_numpy(dtype=float)
    why = runs["why"].fillna("").to_numpy(dtype=object)
    timed = (runs["at_exact"] != "day").to_numpy(dtype=bool)
    start, expected = to_ms(shown["start"]), shown["minutes"].to_numpy(dtype=float, copy=True)
    label, basis, reason = (shown[n].to_numpy(dtype=object, copy=True) for n in ("label", "basis", "why"))
    shown_zone, shown_day = shown["zone"].to_numpy(dtype=object), shown["day"].to_numpy()

    own = np.ones(len(runs), dtype=bool)  # records that are runs of their own
    taken = np.zeros(len(shown), dtype=bool)
    for record, run in _nearest(zone, at, timed, shown_zone, start):
        own[record], taken[run] = False, True
        basis[run], reason[run] = ("ran" if ran[record] else "did_not"), why[record]
        if ran[record]:
            start[run], expected[run] = at[record], minutes[record]

    day = local_days(at, tz).astype("datetime64[ns]")
    whole: dict[tuple[str, np.datetime64], list[int]] = {}
    for record in np.flatnonzero(~timed).tolist():
        whole.setdefault((zone[record], day[record]), []).append(record)
    place: dict[tuple[str, np.datetime64], list[int]] = {}
    for run, key in enumerate(zip(shown_zone, shown_day, strict=True) if whole else ()):
        place.setdefault(key, []).append(run)
    for (code, on), records in whole.items():
        all_runs = np.array(place.get((code, on), []), dtype=np.int64)
        open_runs = all_runs[~taken[all_runs]]
        ran_records = [r for r in records if ran[r]]
        if len(open_runs):
            own[records] = False
            basis[open_runs] = "ran" if ran_records else "did_not"
            reason[open_runs] = "; ".join(dict.fromkeys(w for w in why[ran_records or records] if w))
            if ran_records:
                total = expected[open_runs].sum()
                expected[open_runs] = minutes[ran_records].sum() * expected[open_runs] / total
        elif len(all_runs):
            own[[r for r in records if not ran[r]]] = False  # every run of that day has a record of its own
    changed = _table(shown_zone, label, start, expected, tz, basis, reason)
    extra = _table(
        zone[own],
        np.full(own.sum(), "", object),
        at[own],
        minutes[own],
        tz,
        np.where(ran, "ran", "did_not")[own],
        why[own],
    )
    return pd.concat([t for t in (changed, extra) if len(t)], ignore_index=True)


def _nearest(
    zone: npt.NDArray[np.object_], at: Ints, timed: Flags, shown_zone: npt.NDArray[np.object_], shown_start: Ints
) -> list[tuple[int, int]]:
    """Pairs of a timed record and the presumed run it belongs to, nearest first, each used once."""
    pairs: list[tuple[int, int, int]] = []
    for code in dict.fromkeys(zone[timed]):
        runs = np.flatnonzero(shown_zone == code)
        runs = runs[np.argsort(shown_start[runs], kind="stable")]
        records = np.flatnonzero(timed & (zone == code))
        low = np.searchsorted(shown_start[runs], at[records] - SAME_RUN_MS)
        high = np.searchsorted(shown_start[runs], at[records] + SAME_RUN_MS, side="right")
        for record, a, b in zip(records.tolist(), low.tolist(), high.tolist(), strict=True):
            pairs.extend((abs(int(shown_start[r]) - int(at[record])), record, int(r)) for r in runs[a:b])
    used_records: set[int] = set()
    used_runs: set[int] = set()
    out = []
    for _, record, run in sorted(pairs):
        if record not in used_records and run not in used_runs:
            used_records.add(record)
            used_runs.add(run)
            out.append((record, run))
    return out


def _table(
    zone: npt.NDArray[np.object_],
    label: npt.NDArray[np.object_],
    start: Ints,
    minutes: Floats,
    tz: ZoneInfo,
    basis: npt.ArrayLike = "presumed",
    why: npt.ArrayLike = "",
) -> pd.DataFrame:
    end = start + np.rint(minutes * MINUTE_MS).astype(np.int64)
    return pd.DataFrame(
        {
            "zone": zone,
            "label": label,
            "day": pd.DatetimeIndex(local_days(start, tz).astype("datetime64[ns]")),
            "start": from_ms(start),
            "end": from_ms(end),
            "minutes": minutes,
            "basis": np.broadcast_to(np.asarray(basis, dtype=object), len(start)),
            "why": np.broadcast_to(np.asarray(why, dtype=object), len(start)),
        }
    )


def _day(value: object) -> np.datetime64:
    return np.datetime64(pd.Timestamp(value).date())  # type: ignore[arg-type]
