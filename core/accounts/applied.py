"""What the system and the hose gave: litres per zone and day, and per planting in litres and mm."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.flow import dated_by_day
from core.accounts.instants import day_edges, day_range, day_shares, to_ms
from core.accounts.run_minutes import run_minutes_by_day


def applied_by_zone(
    runs: pd.DataFrame,
    flows: pd.DataFrame,
    tz: ZoneInfo,
    first: date,
    last: date,
    *,
    factors: pd.DataFrame | None = None,
    uses: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Litres each zone got on each local day from ``first`` to ``last``.

    Args:
        runs: from :func:`core.accounts.runs.runs_between`, asked from a day earlier so that a run over midnight counts.
        flows: from :func:`core.accounts.flow.zone_flows`.
        factors: delivery factors, real flow over expected: zone, factor, since, until; 1 where none holds.
        uses: from :func:`core.accounts.logged.logged_uses`; those with a zone count.

    Returns:
        zone, day, run_minutes, program_l (minutes x flow x factor; NaN where it ran and the flow is not known),
        logged_l, applied_l, sd_l: one row per zone and day, zones in the order of ``flows``.
    """
    zones = list(dict.fromkeys(flows["zone"]))
    minutes = run_minutes_by_day(runs, tz, first, last, zones)
    flow = dated_by_day(flows, first, last, "flow_lph", "zone")
    spread = dated_by_day(flows, first, last, "sd_share", "zone").fillna(0.0)
    factor = pd.DataFrame(1.0, index=minutes.index, columns=minutes.columns)
    if factors is not None and len(factors):
        held = dated_by_day(factors, first, last, "factor", "zone")
        factor = held.reindex(columns=minutes.columns).fillna(1.0)
    program = (minutes / 60 * flow * factor).where(minutes > 0, 0.0)
    logged = logged_by_day(uses, tz, first, last) if uses is not None else _NO_LOGGED
    poured, variance = (_pivoted(logged, k, "zone", minutes) for k in ("volume_l", "variance"))
    sd = ((program * spread) ** 2 + variance) ** 0.5
    tables: dict[str, pd.DataFrame] = {
        "run_minutes": minutes,
        "program_l": program,
        "logged_l": poured,
        "applied_l": program + poured,
        "sd_l": sd,
    }
    days = np.tile(minutes.index.to_numpy(), len(zones))
    return pd.DataFrame(
        {"zone": np.repeat(np.array(zones, dtype=object), len(minutes)), "day": pd.DatetimeIndex(days)}
        | {name: table.to_numpy(dtype=float).T.ravel() for name, table in tables.items()}
    )


def applied_by_planting(
    zone_days: pd.DataFrame,
    shares: pd.DataFrame,
    areas: pd.DataFrame,
    tz: ZoneInfo,
    *,
    uses: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Each zone's water divided over its plantings; the parts of a zone and day sum to its ``applied_l``.

    A logged use that names a planting goes to it. All else is divided by the emitters' shares that day; in a
    zone without emitters (a hose outlet) by the plantings' areas; where neither is known it stands under
    planting "".

    Args:
        zone_days: from :func:`applied_by_zone`.
        shares: from :func:`core.accounts.flow.planting_shares`.
        areas: zone, planting, since, until, area_m2: the area each planting draws its water from.
        uses: the same as :func:`applied_by_zone` was given.

    Returns:
        zone, planting, day, applied_l, applied_mm (NaN where the area is not known).
    """
    columns = ["zone", "planting", "day", "applied_l", "applied_mm"]
    if zone_days.empty:
        return pd.DataFrame({c: pd.Series(dtype=float if c.startswith("app") else object) for c in columns})
    first, last = zone_days["day"].min().date(), zone_days["day"].max().date()
    logged = logged_by_day(uses, tz, first, last) if uses is not None else _NO_LOGGED
    out = []
    for zone, rows in zone_days.groupby("zone", sort=False):
        area = dated_by_day(areas[areas["zone"] == zone], first, last, "area_m2", "planting")
        share = dated_by_day(shares[shares["zone"] == zone], first, last, "share", "planting").fillna(0.0)
        direct = logged[(logged["zone"] == zone) & (logged["planting"] != "")]
        poured = direct.groupby(["day", "planting"])["volume_l"].sum().unstack("planting")
        names = list(dict.fromkeys([*share.columns, *area.columns, *poured.columns, ""]))
        share, area, poured = (t.reindex(index=share.index, columns=names) for t in (share, area, poured))
        weight = share.fillna(0.0).where(share.sum(axis=1) > 0, area.fillna(0.0))
        weight[""] = weight[""].where(weight.sum(axis=1) > 0, 1.0)
        weight = weight.div(weight.sum(axis=1), axis=0)
        poured = poured.fillna(0.0)
        left = rows.set_index("day")["applied_l"] - poured.sum(axis=1)
        litres = weight.mul(left, axis=0).where(weight > 0, 0.0) + poured
        depth = litres / area
        wanted = [n for n in names if n or (litres[n] != 0).any()]
        out.append(
            pd.DataFrame(
                {
                    "zone": zone,
                    "planting": np.repeat(np.array(wanted, dtype=object), len(litres)),
                    "day": pd.DatetimeIndex(np.tile(litres.index.to_numpy(), len(wanted))),
                    "applied_l": litres[wanted].to_numpy(dtype=float).T.ravel(),
                    "applied_mm": depth[wanted].to_numpy(dtype=float).T.ravel(),
                }
            )
        )
    return pd.concat(out, ignore_index=True)[columns]


def _pivoted(logged: pd.DataFrame, value: str, key: str, like: pd.DataFrame) -> pd.DataFrame:
    """A logged figure as days by ``key``, in the shape of another table."""
    table = logged.pivot_table(index="day", columns=key, values=value, aggfunc="sum")
    return table.reindex(index=like.index, columns=like.columns).fillna(0.0).astype(float)


_NO_LOGGED = pd.DataFrame(
    {
        "day": pd.DatetimeIndex([], dtype="datetime64[ns]"),
        "meter": pd.Series(dtype=object),
        "zone": pd.Series(dtype=object),
        "planting": pd.Series(dtype=object),
        "volume_l": pd.Series(dtype=float),
        "variance": pd.Series(dtype=float),
    }
)


def logged_by_day(uses: pd.DataFrame, tz: ZoneInfo, first: date, last: date) -> pd.DataFrame:
    """Logged uses laid over local days by time: day, meter, zone, planting ("" where not said), volume_l, variance."""
    if uses.empty:
        return _NO_LOGGED
    row, day, share = day_shares(to_ms(uses["start"]), to_ms(uses["end"]), day_edges(first, last, tz))
    said = {n: uses[n].fillna("").to_numpy(dtype=object)[row] for n in ("meter", "zone", "planting")}
    table = pd.DataFrame(
        {"day": day_range(first, last)[day]}
        | said
        | {
            "volume_l": uses["volume_l"].to_numpy(dtype=float)[row] * share,
            "variance": (uses["sd_l"].to_numpy(dtype=float)[row] * share) ** 2,
        }
    )
    return table.groupby(["day", "meter", "zone", "planting"], as_index=False).sum()
