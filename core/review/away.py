"""Going away: which plants run dry on which day if the system runs as it is set, and if it stops."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from core.accounts.applied import applied_by_planting, applied_by_zone
from core.accounts.flow import planting_shares
from core.accounts.instants import day_range
from core.accounts.runs import runs_between
from core.errors import EntryError
from core.review.brought import delivery_factors
from core.review.growth import POT_PARTS, Version
from core.review.outlook import Basis, outlook, usual_days
from core.review.picture import Picture
from core.review.spoken import counted, day_named, listed
from core.water.planting_days import planting_days

LONGEST_DAYS, FURTHEST_DAYS = 90, 180  # a trip, and how far ahead it may begin
HALF = 0.5  # share of the need below which plants do more than pause; our own line


@dataclass(frozen=True)
class PlantingAway:
    """One planting while nobody is there.

    Attributes:
        zone, planting, name, zone_name: which.
        short_running, half_running: first day of the trip it is short of water, and gets less than half its need, with
            the system running as set; short_stopped, half_stopped: with the system stopped from the first day on. None:
            not while away.
        known: whether its store is known; nothing is said where it is not.
        days: day, running_mm, stopped_mm (water missing from its soil at the end of the day), total_mm, felt_mm.
        sentence: both in words. resting: at rest for the winter all the while.
    """

    zone: str
    planting: str
    name: str
    zone_name: str
    short_running: date | None
    half_running: date | None
    short_stopped: date | None
    half_stopped: date | None
    known: bool
    days: pd.DataFrame
    sentence: str
    resting: bool = False


@dataclass(frozen=True)
class Away:
    """A trip from ``start`` to ``last``, both included; ``weather`` and ``notes`` say what it rests on."""

    start: date
    last: date
    weather: str
    notes: tuple[str, ...]
    plantings: tuple[PlantingAway, ...]
    sentences: tuple[str, ...]


def going_away(picture: Picture, start: date, days: int, basis: Basis = "normals") -> Away:
    """Walk every planting on from its present store through a trip.

    Until the trip begins the system runs as it is set now. No rain is counted: it could only help. The weather is that
    of the months' normals, or of the last two weeks ("recent").

    Args:
        start: first day away, today to 180 days ahead. days: how many, 1 to 90.

    Raises:
        EntryError: a day or length out of range, or no weather to go by.
    """
    today = picture.today
    if not 1 <= days <= LONGEST_DAYS:
        raise EntryError(f"{days} days cannot be looked ahead. Expected 1 to {LONGEST_DAYS}.")
    latest = today + timedelta(days=FURTHEST_DAYS)
    if not today <= start <= latest:
        raise EntryError(f"{start} is not a day a trip can be looked at from. Expected {today} to {latest}.")
    last = start + timedelta(days=days - 1)
    ahead = day_range(today + timedelta(days=1), max(last, today + timedelta(days=1)))
    reference, words = _weather(picture, ahead, basis)
    given = _given(picture, ahead)
    names = picture.zone_names
    order = {zone: place for place, zone in enumerate(names)}
    standing = [v for v in picture.growth.versions if v.last == len(picture.days) and _stands(v, start)]
    rests = _rests_until(picture)
    plantings = tuple(
        _one(picture, v, names[v.zone], ahead[ahead <= pd.Timestamp(last)], reference, given, start, rests.get(v.zone))
        for v in sorted(standing, key=lambda v: order[v.zone])
    )
    return Away(start, last, words, _notes(picture, start, last), plantings, _headline(plantings, start, last))


def _one(
    picture: Picture,
    version: Version,
    zone_name: str,
    ahead: pd.DatetimeIndex,
    reference: pd.Series,
    given: dict[tuple[str, str], pd.Series],
    start: date,
    rests_until: date | None,
) -> PlantingAway:
    rows = picture.growth.days
    state = rows[(rows["zone"] == version.zone) & (rows["planting"] == version.planting)].iloc[-1]
    running = given.get((version.zone, version.planting), pd.Series(0.0, index=ahead)).reindex(ahead).fillna(0.0)
    stopped = running.where(ahead < pd.Timestamp(start), 0.0)
    walks = {
        name: planting_days(
            version.row,
            ahead,
            reference.reindex(ahead),
            np.zeros(len(ahead)),
            litres,
            wetted_fraction=version.wetted,
            start_depletion_mm=float(state["depletion_mm"]),
            start_outside_mm=float(state["outside_depletion_mm"]),
            month_factors=version.month_factors,
            parts=POT_PARTS if version.in_pots else 1,
        )
        for name, litres in (("running", running), ("stopped", stopped))
    }
    trip = ahead >= pd.Timestamp(start)
    until = version.row["until"]
    trip &= True if pd.isna(until) else ahead < until
    trip &= True if rests_until is None else ahead >= pd.Timestamp(rests_until)  # plants at rest do not suffer
    short = {n: _first(w["day"][trip & w["stressed"].to_numpy(bool)]) for n, w in walks.items()}
    half = {n: _first(w["day"][trip & (w["stress_coefficient"] < HALF).to_numpy(bool)]) for n, w in walks.items()}
    known = bool(walks["stopped"]["depletion_mm"][trip].notna().all())
    table = pd.DataFrame(
        {
            "day": ahead,
            "running_mm": walks["running"]["depletion_mm"].to_numpy(float),
            "stopped_mm": walks["stopped"]["depletion_mm"].to_numpy(float),
            "total_mm": walks["running"]["total_available_mm"].to_numpy(float),
            "felt_mm": walks["running"]["readily_available_mm"].to_numpy(float),
        }
    )
    rests = rests_until is not None and not trip.any()
    return PlantingAway(
        version.zone,
        version.planting,
        version.name,
        zone_name,
        short["running"],
        half["running"],
        short["stopped"],
        half["stopped"],
        known,
        table,
        _told(version.name, short, half, start, known=known, rests=rests),
        rests,
    )


def _rests_until(picture: Picture) -> dict[str, date]:
    """Zones whose plants are at rest today, and the end of winter until which they are taken to stay so."""
    today = picture.zone_days[picture.zone_days["day"] == pd.Timestamp(picture.today)]
    spring = date(picture.today.year, 9 if picture.home.latitude < 0 else 3, 1)
    ends = spring if spring > picture.today else spring.replace(year=spring.year + 1)
    return {str(zone): ends for zone in today.loc[today["resting"], "zone"]}


def _stands(version: Version, start: date) -> bool:
    until = version.row["until"]
    return bool(pd.isna(until) or until > pd.Timestamp(start))


def _weather(picture: Picture, ahead: pd.DatetimeIndex, basis: Basis) -> tuple[pd.Series, str]:
    if basis == "normals":
        usual = usual_days(picture, ahead)
        if usual.notna().all():
            return usual, "Weather: the months' normals, without rain."
    found = {month: outlook(picture, month, basis) for month in dict.fromkeys(ahead.month)}
    mean = pd.Series([found[m].reference_et_mm for m in ahead.month], index=ahead)
    words = listed(dict.fromkeys(o.words.rstrip(".") for o in found.values()))
    return mean, f"Weather: {words[:1].lower()}{words[1:]}, without rain."


def _given(picture: Picture, ahead: pd.DatetimeIndex) -> dict[tuple[str, str], pd.Series]:
    """Litres each planting would get on the days ahead with the system as it is set now."""
    frames, first, last = picture.frames, ahead[0].date(), ahead[-1].date()
    runs = runs_between(
        picture.programs_planned,
        picture.planned,
        frames["run"].iloc[:0],
        frames["controller"],
        frames["clock_check"],
        frames["zone"],
        picture.tz,
        first - timedelta(days=1),
        last,
    )
    zones = applied_by_zone(runs, picture.flows, picture.tz, first, last, factors=delivery_factors(picture.accounts))
    area = pd.DataFrame(
        {
            "zone": [v.zone for v in picture.growth.versions],
            "planting": [v.planting for v in picture.growth.versions],
            "since": [picture.days[v.first] for v in picture.growth.versions],
            "until": [v.row["until"] for v in picture.growth.versions],
            "area_m2": [v.store.water_area_m2 for v in picture.growth.versions],
        }
    )
    shares = planting_shares(frames["zone"], frames["emitter_group"], frames["supply"])
    table = applied_by_planting(zones, shares, area, picture.tz)
    return {
        (str(z), str(p)): rows.set_index("day")["applied_l"] for (z, p), rows in table.groupby(["zone", "planting"])
    }


def _notes(picture: Picture, start: date, last: date) -> tuple[str, ...]:
    """Pauses and settings that bear on the trip."""
    said = []
    names = picture.zone_names
    for row in picture.planned.to_dict("records"):
        ends = row["until"]
        if row["since"] <= pd.Timestamp(last) and (pd.isna(ends) or ends > pd.Timestamp(start)):
            who = "The whole system" if row["scope"] == "all" else names.get(row["scope"], row["scope"])
            until = "" if pd.isna(ends) else f" until {day_named(ends, year=True)}"
            said.append(
                f"{who} is off by a pause written down from {day_named(row['since'], year=True)}{until}: on those "
                "days running is the same as stopped."
            )
    hand = [z["name"] for z in picture.frames["zone"].to_dict("records") if z["hand"]]
    if hand:
        said.append(f"Nobody waters {listed(hand)} by hand while you are away.")
    return tuple(said)


def _first(days: pd.Series) -> date | None:
    return None if days.empty else days.iloc[0].date()


def _told(
    name: str, short: dict[str, date | None], half: dict[str, date | None], start: date, *, known: bool, rests: bool
) -> str:
    if rests:
        return f"{name}: at rest for the winter."
    if not known:
        return f"{name}: its store is not known, for weather or flow is missing."
    if short["stopped"] is None:
        return f"{name}: never short, even if the system stops."
    stops = f"if it stops, short from {_when(short['stopped'], start)}"
    stops += f" and on less than half its need from {day_named(half['stopped'], month=True)}" if half["stopped"] else ""
    if short["running"] is None:
        return f"{name}: fine while the system runs; {stops}."
    if short["running"] == short["stopped"]:
        return f"{name}: short from {_when(short['running'], start)}, running or not" + (
            f"; {stops.split(' and ', 1)[1]} if it stops." if half["stopped"] else "."
        )
    return f"{name}: short from {_when(short['running'], start)} though the system runs; {stops}."


def _when(day: date, start: date) -> str:
    return f"{day_named(day, month=True)}, day {(day - start).days + 1}"


def _headline(plantings: tuple[PlantingAway, ...], start: date, last: date) -> tuple[str, ...]:
    span = f"{day_named(start, month=True)} to {day_named(last, month=True)}"
    known = [p for p in plantings if p.known]
    if not known:
        return (f"Away {span}: nothing is known to grow then.",)
    running = [p for p in known if p.short_running]
    stopped = [p for p in known if p.short_stopped]
    said = f"Away {span}: with the system running as set, "
    said += f"{len(running)} of {counted(len(known), 'planting')} run short" if running else "no planting runs short"
    if not stopped:
        return (f"{said}, nor if it stops.",)
    first = min(stopped, key=lambda p: p.short_stopped or last)
    assert first.short_stopped is not None  # noqa: S101 - it is among those that go short
    return (
        f"{said}; if it stops, {len(stopped)} of {len(known)}, {first.name} first, from "
        f"{_when(first.short_stopped, start)}.",
    )
