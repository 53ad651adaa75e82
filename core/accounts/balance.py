"""The balance: metered = indoor + zones + logged other + unexplained, closing exactly, per interval and per day."""

from __future__ import annotations

import numpy as np
import pandas as pd

from core.accounts.instants import HOUR_MS, day_edges, day_range, from_ms
from core.accounts.ledger import Ledger, local_day
from core.accounts.reference import Reference


def interval_frame(ledger: Ledger, reference: Reference) -> pd.DataFrame:
    """Every interval with its parts, litres; NaN where the volume cannot be known.

    Columns: meter, start, end (UTC), metered_l, indoor_l, zones_l, other_l, unexplained_l, sd_l (of unexplained),
    one ``zone:<code>`` column per zone, and note. Unexplained is what is left, so the parts sum to the metered
    volume; it may be negative.
    """
    zones = reference.zones.sum(axis=1)
    frame = pd.DataFrame(
        {
            "meter": np.full(len(ledger.start), ledger.meter, dtype=object),
            "start": from_ms(np.round(ledger.start * HOUR_MS)),
            "end": from_ms(np.round(ledger.end * HOUR_MS)),
            "metered_l": ledger.volume,
            "indoor_l": reference.indoor,
            "zones_l": zones,
            "other_l": ledger.other,
            "unexplained_l": ledger.volume - (reference.indoor + zones + ledger.other),
            "sd_l": sd_of_unexplained(ledger, reference),
        }
    )
    for k, code in enumerate(ledger.zones):
        frame[f"zone:{code}"] = reference.zones[:, k]
    frame["note"] = ledger.notes
    return frame


def sd_of_unexplained(ledger: Ledger, reference: Reference) -> np.ndarray:
    """Standard deviation of the unexplained part: household spread, and what is not known of level and flows."""
    level = reference.baseline.level_sd / max(reference.baseline.level, 1e-9)
    flows = np.einsum("ij,jk,ik->i", ledger.paper, reference.factor_covariance, ledger.paper)
    result: np.ndarray = np.sqrt(reference.sigma**2 + flows.clip(0) + (level * reference.indoor) ** 2)
    return result


def day_frame(ledger: Ledger, reference: Reference) -> pd.DataFrame:
    """Use by local day and part: day, part, volume_l, sd_l, kind.

    Parts: "indoor", "zone:<code>", "other", "unexplained". Modelled parts are known by day; what they leave of an
    interval is spread over it by time, and its standard deviation widens with the share that falls on a day.
    ``kind`` is "metered" for time a reading covers and "modelled" for the rest through as-of, where nothing is
    unexplained.
    """
    columns = ["day", "part", "volume_l", "sd_l", "kind"]
    first = float(ledger.hour_edges[0]) if not len(ledger.start) else float(ledger.start[0])
    if ledger.as_of <= first:
        return pd.DataFrame(columns=columns)
    days = day_range(local_day(first, ledger.zone), local_day(ledger.as_of, ledger.zone))
    edges = day_edges(days[0].date(), days[-1].date(), ledger.zone) / HOUR_MS
    known = np.isfinite(ledger.volume)
    cuts = np.unique(np.concatenate([edges, ledger.start, ledger.end, [first, ledger.as_of]]))
    cuts = cuts[(cuts >= first - 1e-9) & (cuts <= ledger.as_of + 1e-9)]
    start, end = cuts[:-1], cuts[1:]
    middle = (start + end) / 2
    day = np.searchsorted(edges, middle, side="right") - 1
    owner = np.searchsorted(ledger.start, middle, side="right") - 1
    inside = (owner >= 0) & (len(ledger.start) > 0)
    if len(ledger.start):
        inside &= (middle < ledger.end[owner]) & known[owner]
    parts = {"indoor": reference.baseline.accrued.between(start, end)}
    for k, code in enumerate(ledger.zones):
        parts[f"zone:{code}"] = ledger.drawn[k].between(start, end) * reference.factor[k]
    parts["other"] = ledger.drawn_other.between(start, end)
    share = np.zeros(len(start))
    if len(ledger.start):
        share[inside] = (end - start)[inside] / ledger.hours[owner[inside]]
        left = ledger.volume - (reference.indoor + reference.zones.sum(axis=1) + ledger.other)
        parts["unexplained"] = np.where(inside, np.nan_to_num(left[owner]) * share, 0.0)
        spread = np.where(inside, sd_of_unexplained(ledger, reference)[owner] * np.sqrt(share), 0.0)
    else:
        parts["unexplained"] = np.zeros(len(start))
        spread = np.zeros(len(start))
    frames = []
    for part, amount in parts.items():
        sd = spread if part in ("indoor", "unexplained") else _own_sd(part, amount, ledger, reference)
        for kind, mask in (("metered", inside), ("modelled", ~inside)):
            if not mask.any():
                continue
            volume = np.bincount(day[mask], weights=amount[mask], minlength=len(days))
            variance = np.bincount(day[mask], weights=sd[mask] ** 2, minlength=len(days))
            here = np.bincount(day[mask], minlength=len(days)) > 0
            frames.append(
                pd.DataFrame(
                    {
                        "day": days[here],
                        "part": part,
                        "volume_l": volume[here],
                        "sd_l": np.sqrt(variance[here]),
                        "kind": kind,
                    }
                )
            )
    whole = pd.concat(frames, ignore_index=True) if frames else pd.DataFrame(columns=columns)
    return whole.sort_values(["day", "kind", "part"], kind="stable", ignore_index=True)


def _own_sd(part: str, amount: np.ndarray, ledger: Ledger, reference: Reference) -> np.ndarray:
    if part.startswith("zone:"):
        k = ledger.zones.index(part.removeprefix("zone:"))
        factor = max(float(reference.factor[k]), 1e-9)
        return np.asarray(np.abs(amount) * float(reference.factor_sd[k]) / factor)
    return np.zeros(len(amount))
