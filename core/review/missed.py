"""Days the system should have run and did not, days the plants felt it, and the link between the two.

The link is worked out, not guessed: every planting is walked a second time as if the missed runs had come. Days on
which it went short and would not have are put down to the missed runs; days on which it would have gone short all the
same are put down to a program that gives too little.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from core.accounts.applied import applied_by_planting, applied_by_zone
from core.accounts.flow import planting_shares
from core.review.brought import delivery_factors
from core.review.growth import Version, areas, walk
from core.review.picture import Picture, between
from core.review.spoken import counted, day_named, days_named, listed

RUN_UP_DAYS = 21  # a store that missed water longer ago than that was refilled or ran dry on its own; no source


@dataclass(frozen=True, slots=True)
class Felt:
    """What the missed runs of a zone did to one planting.

    Attributes:
        planting, name: its code and name.
        caused: days short of water that it would not have been, had the runs come; anyway: days short all the same.
    """

    planting: str
    name: str
    caused: tuple[date, ...]
    anyway: tuple[date, ...]


@dataclass(frozen=True, slots=True)
class MissedLink:
    """A zone's missed days and stress days of a month, told apart and linked in a sentence.

    ``missed`` holds missed days before the month where plants still felt them in it.
    """

    zone: str
    name: str
    missed: tuple[date, ...]
    felt: tuple[Felt, ...]
    sentence: str


def missed_links(picture: Picture, water: pd.DataFrame, first: date, last: date) -> tuple[MissedLink, ...]:
    """One link for each zone with missed or stress days from ``first`` to ``last``, in the order of the book.

    Args:
        water: from :func:`core.review.weeks.planting_water`, of the same days.
    """
    days = picture.zone_days
    since = pd.Timestamp(first) - pd.Timedelta(days=RUN_UP_DAYS)
    missed = days[(days["state"] == "missed") & (days["day"] >= since) & (days["day"] <= pd.Timestamp(last))]
    relieved = _if_they_had_run(picture, missed) if len(missed) else {}
    out = []
    for zone in picture.frames["zone"].to_dict("records"):
        code = zone["code"]
        mine = water[water["zone"] == code]
        felt = tuple(_felt(str(p), rows, relieved.get((code, str(p)))) for p, rows in mine.groupby("planting"))
        gone = [d.date() for d in missed[missed["zone"] == code]["day"]]
        within = [d for d in gone if d >= first]
        opens = min((f.caused[0] for f in felt if f.caused), default=last)
        when = tuple(gone if opens < min(within, default=last) else within)
        if when or any(f.caused or f.anyway for f in felt):
            span = between(days[days["zone"] == code], first, last)
            unset = bool((span["state"] == "none").all())
            said = _told(zone["name"], when, felt, _CAUSES["hand" if zone["hand"] else "unset" if unset else "set"])
            out.append(MissedLink(code, zone["name"], when, felt, said))
    return tuple(out)


def _felt(planting: str, rows: pd.DataFrame, relieved: pd.Series | None) -> Felt:
    short = rows["stressed"].to_numpy(bool)
    spared = np.zeros(len(rows), dtype=bool)
    if relieved is not None:
        spared = short & relieved.reindex(rows["day"]).eq(False).to_numpy(bool)
    day = [d.date() for d in rows["day"]]
    caused = tuple(d for d, s in zip(day, spared, strict=True) if s)
    anyway = tuple(d for d, s, c in zip(day, short, spared, strict=True) if s and not c)
    return Felt(planting, str(rows["name"].iloc[-1]), caused, anyway)


def _if_they_had_run(picture: Picture, missed: pd.DataFrame) -> dict[tuple[str, str], pd.Series]:
    """Whether each planting of the zones that missed runs would have gone short, by day, had the runs come."""
    runs = picture.runs
    gone = pd.MultiIndex.from_frame(missed[["zone", "day"]])
    runs = runs[pd.MultiIndex.from_frame(runs[["zone", "day"]]).isin(gone) & (runs["minutes"] > 0).to_numpy(bool)]
    zones = set(missed["zone"])
    versions = [v for v in picture.growth.versions if v.zone in zones]
    begun = int(picture.days.searchsorted(missed["day"].min()))
    more = applied_by_planting(
        applied_by_zone(
            runs.assign(basis="ran"),
            picture.flows[picture.flows["zone"].isin(zones)],
            picture.tz,
            picture.days[begun].date(),
            picture.days[-1].date(),
            factors=delivery_factors(picture.accounts),
        ),
        planting_shares(picture.frames["zone"], picture.frames["emitter_group"], picture.frames["supply"]),
        areas(versions, picture.days),
        picture.tz,
    )
    extra = {key: rows.set_index("day")["applied_l"] for key, rows in more.groupby(["zone", "planting"])}
    found: dict[tuple[str, str], list[pd.Series]] = {}
    for version in versions:
        key = (version.zone, version.planting)
        if version.last <= begun or key not in extra:
            continue
        found.setdefault(key, []).append(_walked_again(picture, version, extra[key], begun))
    return {key: pd.concat(parts) for key, parts in found.items()}


def _walked_again(picture: Picture, version: Version, extra: pd.Series, begun: int) -> pd.Series:
    """Whether a version would have been short of water on each day from ``begun`` on, with ``extra`` litres."""
    first = max(version.first, begun)
    days = picture.days[first : version.last]
    rows = picture.growth.days
    rows = rows[(rows["zone"] == version.zone) & (rows["planting"] == version.planting)].set_index("day")
    state: pd.Series | None = rows.iloc[first - 1 - version.first] if first > version.first else None
    given = rows.loc[days, "applied_mm"] * version.store.water_area_m2 + extra.reindex(days).fillna(0.0)
    again = walk(version, picture.sky.iloc[first : version.last], given.to_numpy(float), days, state)
    return pd.Series(again["stressed"].to_numpy(bool), index=days)


_CAUSES = {
    "hand": "watering by hand came too seldom",
    "unset": "nothing is set to water it",
    "set": "the program gives too little, or too seldom",
}


def _told(zone: str, missed: tuple[date, ...], felt: tuple[Felt, ...], cause: str) -> str:
    dry = [f for f in felt if f.caused]
    anyway = [f for f in felt if f.anyway]
    fine = [f for f in felt if not f.caused and not f.anyway]
    words = []
    if missed:
        parts = [f"{f.name} went dry from {day_named(f.caused[0])} ({counted(len(f.caused), 'day')})" for f in dry]
        if fine and dry:
            parts.append(f"{listed(f.name for f in fine)} never noticed")
        elif not dry:
            parts.append("no plant went short because of it" if anyway else "no plant noticed")
        words.append(f"{zone} missed {days_named(missed)}: {'; '.join(parts)}.")
    if anyway:
        short = listed(f"{f.name} ({counted(len(f.anyway), 'day')})" for f in anyway)
        where = f"In {zone}, " if not missed else "Besides, "
        words.append(f"{where}{short} went short though no run was missed: {cause}.")
    return " ".join(words)
