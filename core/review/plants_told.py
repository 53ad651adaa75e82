"""The plants' month in plain words."""

from __future__ import annotations

from datetime import date

import pandas as pd

from core.review.enough import LITTLE, MUCH, is_too_much, too_much_sentence
from core.review.missed import MissedLink
from core.review.picture import Picture
from core.review.rain_told import rain_told
from core.review.spoken import counted, first_up, listed, percent
from core.review.zones import NOT_WRITTEN
from core.units import System, show


def headline(
    picture: Picture,
    zones: pd.DataFrame,
    links: tuple[MissedLink, ...],
    resting: frozenset[str] = frozenset(),
    unwritten: frozenset[str] = frozenset(),
) -> tuple[str, ...]:
    """The month's sentences: short or not, what is not known, too much or not, then what missed runs did."""
    every, zones = zones, zones[~zones["zone"].isin(unwritten)]
    system, names = picture.home.display, picture.zone_names
    said = []
    thirsty = set(zones.loc[zones["need_l"] > 0, "zone"])
    short = zones[zones["days_short"] > 0]
    if len(short):
        parts = [f"{names[r['zone']]} on {counted(r['days_short'], 'day')}" for r in short.to_dict("records")]
        lacked = float(zones["short_l"].sum())
        said.append(f"Plants went short of water in {listed(parts)}; {show(lacked, 'volume', system)} were lacking.")
    elif thirsty and thirsty <= resting:
        said.append("The plants are at rest for the winter; none counts as short of water.")
    elif thirsty:
        known = ", as far as is written down" if unwritten else ""
        said.append(f"No plant went short of water{known}.")
    dry = every[every["zone"].isin(unwritten) & (every["need_l"] - every["effective_rain_l"] >= 1)]
    if len(dry):
        said.append(f"{listed(names[z] for z in dry['zone'])}: {NOT_WRITTEN}")
    over = [
        (names[row["zone"]], float(row["excess_l"]), None if pd.isna(row["excess_money"]) else row["excess_money"])
        for row in zones[zones["too_much"]].to_dict("records")
    ]
    said += [words for words in [too_much_sentence(over, system, picture.home.currency)] if words]
    return (*said, *(link.sentence for link in links))


def planting_sentence(
    name: str,
    a_day: float | None,
    need_l: float,
    rain_l: float,
    applied_l: float,
    drained_l: float,
    stress_days: int,
    system: System,
    *,
    unwritten: bool = False,
) -> str:
    """One planting's month: need a day, rain, water given, and whether that was about right or too much."""
    if a_day is None:
        return f"{name}: what it needed is not known."
    net = max(need_l - rain_l, 0.0)
    wanted = f"{name} needed {show(a_day, 'volume', system, 1)} a day"
    wanted += f", rain met {percent(min(rain_l / need_l, 1))} of it" if need_l > 0 and rain_l > 0.005 * need_l else ""
    if unwritten and net >= 1:
        return f"{wanted}; what it was given by hand nobody wrote down."
    share = applied_l / net if net > 1e-9 else float("inf") if applied_l > 1 else 1.0
    if share == float("inf"):
        verdict = f"{show(applied_l, 'volume', system)} was given that nothing asked for"
    elif net < 1:
        verdict = "and nothing more was asked for"
    elif LITTLE <= share <= MUCH or (share > MUCH and not is_too_much(need_l, rain_l, drained_l)):
        verdict = "and it was given about the rest"
    else:
        verdict = f"and it was given {percent(share)} of the rest"
    short = f"; short on {counted(stress_days, 'day')}" if stress_days else ""
    return f"{wanted}, {verdict}{short}."


def weather_told(above: pd.DataFrame, first: date, system: System) -> tuple[str, ...]:
    """How the month's weather was come by; a month without any is said first of all.

    Args:
        above: rows of :func:`core.review.sky.sky` of the month.
    """
    if above.empty or (above["method"] == "none").all():
        return (f"No weather is known for {first:%B %Y}, and no normals: what the plants needed cannot be said.",)
    methods = above["method"].value_counts()
    ways = [f"{_METHODS[str(method)]} on {counted(n, 'day')}" for method, n in methods.items()]
    said = [f"Reference ET: {listed(ways)}."]
    worked_out = above["method"].isin(["measured", "penman-monteith", "hargreaves"])
    notes = above.loc[worked_out & (above["note"] != ""), "note"]
    said += [f"{first_up(str(note))} ({counted(n, 'day')})." for note, n in notes.value_counts().items()]
    return (*said, *rain_told(above, system))


_METHODS = {
    "measured": "a station's own figure",
    "penman-monteith": "Penman-Monteith (FAO-56 eq. 6)",
    "hargreaves": "temperature alone (Hargreaves, FAO-56 eq. 52)",
    "normals": "the month's normals",
    "bridged": "a gap, bridged between the days beside it",
    "none": "not known",
}
