"""What is still set and is much more than the plants will need: litres and money of the week to come.

The month's accounts say what went; this says what goes on going if nobody turns it down. The program page says the
same sentence below its own, which is of a whole month as set now: the week to come may hold a pause or another program.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from core.accounts.runs import waters_on
from core.errors import EntryError
from core.notation import parse_days, parse_starts
from core.review.as_set import holds_on, paused_on
from core.review.demand import Facts, facts_of, zone_demand
from core.review.enough import MUCH
from core.review.outlook import Outlook, outlook
from core.review.picture import Picture
from core.review.seasons import usually_shut
from core.review.spoken import amount, counted
from core.review.weeks import money_of
from core.units import show

LEAST_L = 150.0  # in a week, all zones together: a bath tub, below which a walk to the controller is not asked for
WEEK = 7


@dataclass(frozen=True, slots=True)
class ZoneWaste:
    """A zone set to more than ``MUCH`` times what it needs: litres a week set, needed, and the money of the rest."""

    zone: str
    name: str
    set_l: float
    need_l: float
    money: float | None

    @property
    def over_l(self) -> float:
        """Litres a week that nothing needs."""
        return self.set_l - self.need_l


@dataclass(frozen=True, slots=True)
class Waste:
    """The zones that are set to much more than they need in the days to come, the worst first.

    Attributes:
        over_l: litres a week that nothing needs. money: what they cost, None without a meter or tariff.
        sentence: what is wrong, how much, and what to do.
    """

    zones: tuple[ZoneWaste, ...]
    over_l: float
    money: float | None
    sentence: str


def still_wasted(picture: Picture) -> Waste | None:
    """What is set now beyond need, where it is worth doing something about; None otherwise.

    A zone counts when it is set to more than ``MUCH`` times what must be applied, losses included, both by the month's
    normals and by the last two weeks: a dry autumn is no waste, nor is a wet fortnight in a dry month. It is the one
    threshold of :mod:`core.review.enough`. Together the zones must be ``LEAST_L`` over. Pauses count as they are.
    """
    flowing = _set_now(picture)
    if not flowing:
        return None
    month = picture.today.month
    try:
        weathers = [outlook(picture, month, "recent")]
        weathers += [outlook(picture, month)] if weathers[0].basis == "recent" else []
    except EntryError:  # nothing is known of the weather
        return None
    facts, found = facts_of(picture), []
    for zone, minutes in flowing:
        flow, _ = facts.flows[str(zone["code"])]
        set_l = minutes / 60 * flow
        need_l = _need_beside(picture, zone, set_l, weathers, facts) if np.isfinite(flow) else None
        if need_l is not None:
            found.append(ZoneWaste(str(zone["code"]), str(zone["name"]), set_l, need_l, None))
    over = sum(z.over_l for z in found)
    if over < LEAST_L:
        return None
    found = sorted((replace(z, money=_money(picture, z.zone, z.over_l)) for z in found), key=lambda z: -z.over_l)
    prices = [z.money for z in found if z.money is not None]
    money = sum(prices) if prices else None
    return Waste(tuple(found), over, money, _sentence(picture, found, over, money))


def _set_now(picture: Picture) -> list[tuple[dict[Hashable, Any], float]]:
    """Zones in use that run by a controller, with the minutes they are set to run in the coming week."""
    found = []
    for zone in picture.frames["zone"].to_dict("records"):
        ended = not pd.isna(zone["until"]) and zone["until"].date() <= picture.today
        minutes = 0.0 if ended or zone["hand"] or not zone["controller"] else _minutes_ahead(picture, str(zone["code"]))
        if minutes > 0:
            found.append((zone, minutes))
    return found


def _need_beside(
    picture: Picture, zone: dict[Hashable, Any], set_l: float, weathers: list[Outlook], facts: Facts
) -> float | None:
    """Litres a week that must be applied by whichever weather asks for more, where what is set is much more than that;
    None where it is not, or nobody can say.
    """
    month, need_l = picture.today.month, 0.0
    for weather in () if usually_shut(picture.home, month) else weathers:
        try:
            demand = zone_demand(picture, zone, month, weather, facts)
        except EntryError:
            return None
        need_l = max(need_l, WEEK * demand.need.litres_a_day if demand is not None else 0.0)
        if set_l <= MUCH * need_l:  # the other weather can only ask for more
            return None
    return need_l


def _money(picture: Picture, zone: str, over_l: float) -> float | None:
    """What litres a week cost: a quarter of what they cost in the last four weeks.

    Steps of a tariff are of whole billing periods, so one week would be priced by its place among them.
    """
    days = pd.date_range(end=pd.Timestamp(picture.today), periods=4 * WEEK)
    money = money_of(picture, zone, pd.Series(over_l / WEEK, index=days))
    return None if money is None else money / 4


def _minutes_ahead(picture: Picture, zone: str) -> float:
    """Minutes a zone is set to run in the week from tomorrow on, as programs and pauses stand."""
    days = np.datetime64(picture.today) + np.arange(1, WEEK + 1)
    on = ~paused_on(picture, zone, days)
    minutes = 0.0
    programs = picture.programs_planned
    for row in programs[programs["zone"] == zone].to_dict("records"):
        held = on & holds_on(row, days)
        runs = int((held & waters_on(parse_days(row["days"]), days)).sum()) * len(parse_starts(row["starts"]).times)
        minutes += runs * float(row["minutes"]) * float(row["percent"]) / 100
    return minutes


def _sentence(picture: Picture, zones: list[ZoneWaste], over_l: float, money: float | None) -> str:
    system = picture.home.display
    much = show(over_l, "volume", system)
    price = (
        f" ({amount(money, 'money', system, picture.home.currency)})" if money is not None and money >= 0.005 else ""
    )
    who, one = zones[0].name if len(zones) == 1 else counted(len(zones), "zone"), len(zones) == 1
    month, ahead = f"{picture.today:%B}", f"in the next {WEEK} days"
    if all(z.need_l <= 0 for z in zones):
        idle = (
            f"{who} {'needs' if one else 'need'} no watering in {month} and {'is' if one else 'are'} still set to give"
        )
        stop = f"pause {'it' if one else 'them'}, or write down that you switched off."
        return f"{idle} {much} {ahead}{price}: {stop}"
    over = f"{who} {'is' if one else 'are'} set to give {much}{price} more {ahead} than {month} asks for"
    return f"{over}: set what fits, or pause {'it' if one else 'them'}."
