"""Unlike plants under one valve, and how evenly a zone's emitters give: what the two cost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from core.accounts.flow import dated_by_day, planting_shares
from core.errors import EntryError
from core.figures import Line
from core.review.picture import Picture
from core.review.spoken import day_named, listed, percent
from core.review.weeks import money_of
from core.units import show
from core.water.mix import zone_mix
from core.water.uniformity import field_class, low_quarter_uniformity, parse_catch

# Of what a zone gives: less surplus than that is not worth moving emitters for. Common practice, no source.
UNLIKE = 0.15
_NOTHING = pd.DataFrame(columns=["planting", "need_l", "given_l", "surplus_l", "drives"])


@dataclass(frozen=True)
class ZoneMixTold:
    """A zone whose plants do not suit each other or its emitters.

    Attributes:
        zone, name: of the zone.
        plantings: planting, need_l (that rain did not meet), given_l, surplus_l, drives (stretches of days on which it
            sets the run time), when the zone runs just long enough for its thirstiest; empty where none can suffice.
        saving_l: how much less the same plants would take on valves or emitters of their own; money: what that cost.
        sentence: who is overwatered by how much and what regrouping would save.
    """

    zone: str
    name: str
    plantings: pd.DataFrame
    saving_l: float
    money: float | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Evenness:
    """The latest catch test of a zone: mean of the lowest quarter over the mean of all."""

    zone: str
    name: str
    day: date
    share: float
    sentence: str

    def line(self) -> Line:
        """As a line of a figure's working."""
        return Line("field uniformity", self.share, "", f"catch test of {day_named(self.day, year=True)}")


def mixes(picture: Picture, water: pd.DataFrame, first: date, last: date) -> tuple[ZoneMixTold, ...]:
    """Zones whose thirstiest plants make the others drown, over the days from ``first`` to ``last``.

    Args:
        water: from :func:`core.review.weeks.planting_water`, of the same days.
    """
    shares = planting_shares(picture.frames["zone"], picture.frames["emitter_group"], picture.frames["supply"])
    out = []
    for zone in picture.frames["zone"].to_dict("records"):
        code, mine = zone["code"], water[(water["zone"] == zone["code"]) & water["known"]]
        held = dated_by_day(shares[shares["zone"] == code], first, last, "share", "planting").mean()
        if mine.empty or held.empty:
            continue
        names = mine.groupby("planting")["name"].last().to_dict()
        net = mine.assign(net_l=mine["need_l"] - mine["effective_rain_l"])
        dry = [name for plant, name in names.items() if not held.get(plant, 0.0) > 0]
        if dry:
            said = f"{zone['name']}: no emitter waters {listed(dry)}, so no run time of the zone can meet the need."
            out.append(ZoneMixTold(code, zone["name"], _NOTHING, 0.0, None, said))
            continue
        table = _surplus(net, held)
        given, saving = float(table["given_l"].sum()), float(table["surplus_l"].sum())
        if saving >= UNLIKE * given > 0:
            out.append(_told(picture, code, zone["name"], names, table, first, last))
    return tuple(out)


def _surplus(net: pd.DataFrame, held: pd.Series) -> pd.DataFrame:
    """Need, given and surplus of each planting, summed over stretches of days on which the same plants stood."""
    standing = net.groupby("day")["planting"].agg(tuple)
    parts = []
    for plants in standing.unique():
        rows = net[net["day"].isin(standing.index[standing.map(lambda held_by, p=plants: held_by == p)])]
        need = rows.groupby("planting")["net_l"].sum().clip(lower=0.0)
        if need.sum() > 0:
            mix = zone_mix([str(p) for p in need.index], need.to_list(), held.reindex(need.index).to_list())
            parts.append(mix.plantings.assign(drives=mix.plantings["planting"] == mix.driver))
    if not parts:
        return _NOTHING
    columns = ["need_l", "given_l", "surplus_l", "drives"]
    summed: pd.DataFrame = pd.concat(parts).groupby("planting", sort=False)[columns].sum()
    return summed.reset_index()


def _told(
    picture: Picture, code: str, name: str, names: dict[str, str], table: pd.DataFrame, first: date, last: date
) -> ZoneMixTold:
    saving = float(table["surplus_l"].sum())
    days = pd.date_range(first, last)
    money = money_of(picture, code, pd.Series(saving / len(days), index=days))
    system = picture.home.display
    driver = str(table.sort_values(["drives", "need_l"])["planting"].iloc[-1])
    over = table[table["surplus_l"] > UNLIKE * np.maximum(table["need_l"], 1.0)].to_dict("records")
    much = [
        f"{names[p['planting']]} get {_times(p['given_l'], p['need_l'])}, "
        f"{show(p['surplus_l'], 'volume', system)} too much"
        for p in over
    ]
    price = f" ({picture.home.currency}{money:,.2f})" if money is not None and money >= 0.005 else ""
    said = (
        f"{name} waters unlike plants. Run long enough for {names[driver]}, and {listed(much)}. With emitters to suit, "
        f"or a valve of their own, the month would take {show(saving, 'volume', system)}{price} less."
    )
    return ZoneMixTold(code, name, table, saving, money, said)


def _times(given: float, need: float) -> str:
    return f"{given / need:.1f} times their need" if need > 1e-9 else "water they do not need"


def evenness(picture: Picture, last: date) -> tuple[tuple[Evenness, ...], tuple[str, ...]]:
    """The latest catch test of every zone up to a day, and sentences about tests that cannot be read."""
    tests, names = picture.frames["catch_test"], picture.frames["zone"].set_index("code")["name"]
    found, problems = [], []
    known = tests[(tests["at"].dt.tz_convert(picture.tz).dt.date <= last).to_numpy(bool)].sort_values("at")
    for row in known.drop_duplicates("zone", keep="last").to_dict("records"):
        day = row["at"].tz_convert(picture.tz).date()
        name = names.get(row["zone"], row["zone"])
        try:
            share = low_quarter_uniformity(parse_catch(str(row["caught_ml"])))
        except EntryError as error:
            problems.append(f"Catch test of {name}, {day_named(day, year=True)}: {error}")
            continue
        said = (
            f"{name}: its driest quarter of emitters gave {percent(share)} of the mean in the catch test of "
            f"{day_named(day, year=True)}, {field_class(share)}. Run times are divided by that, and by no efficiency "
            "besides."
        )
        found.append(Evenness(row["zone"], name, day, share, said))
    return tuple(found), tuple(problems)
