"""Each zone's month: need, rain, applied, drained, saved, and how many days somebody can vouch for."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd

from core.accounts.savings import saved_against_overhead
from core.figures import NINETY, Figure, Line
from core.review.enough import LITTLE, MUCH
from core.review.month import ZoneMonth
from core.review.picture import Picture, between
from core.review.spoken import counted, listed
from core.review.weeks import planting_water, priced, zone_totals, zone_water
from core.units import System, show
from core.water.efficiency import OVERHEAD_EFFICIENCY

WENT_SHORT = "Where plants went short, part of this is water they should have had."
FROM_SOIL = "Part of this came out of what the soil held, which the next rain or watering fills again."
NOT_WRITTEN = (
    "nobody wrote down watering it by hand. If somebody watered, that water is within what the house used or what "
    "nobody can explain; write it down as other use for this zone and it is told here."
)


def unwritten_words(zones: tuple[ZoneMonth, ...]) -> str:
    """What stands below a list of the month's parts about zones that are not in it; "" when there is none."""
    names = listed(z.name for z in zones if z.unwritten)
    return f"{names}: {NOT_WRITTEN}" if names else ""


def zone_months(picture: Picture, first: date, last: date) -> tuple[ZoneMonth, ...]:
    """One row per zone that waters something or ran in the month, in the order of the book."""
    days = between(picture.zone_days, first, last)
    became = zone_water(picture, planting_water(picture, first, last), first, last)
    drained = zone_totals(became).set_index("zone")["excess_l"]
    money = priced(picture, became, "excess_l")
    out = []
    for zone in picture.frames["zone"].to_dict("records"):
        mine = days[days["zone"] == zone["code"]]
        if mine.empty or not (mine["need_l"].sum() or mine["applied_l"].sum() or (mine["state"] != "none").any()):
            continue
        excess = float(drained[zone["code"]]), float(money[zone["code"]])
        out.append(_zone(picture, zone["code"], zone["name"], bool(zone["hand"]), mine, excess))
    return tuple(out)


def _zone(
    picture: Picture, code: str, name: str, hand: bool, days: pd.DataFrame, excess: tuple[float, float]
) -> ZoneMonth:
    need, rain, applied = (float(days[c].sum()) for c in ("need_l", "effective_rain_l", "applied_l"))
    rain = min(rain, need)
    awake = days[~days["resting"]]
    wanted, met = (float(awake[c].sum()) for c in ("need_l", "effective_rain_l"))
    sd = _applied_sd(picture, code, days)
    state = days["state"].value_counts()
    resting = bool(days["resting"].mean() > 0.5)
    unwritten = bool(days["unwritten"].all()) and not resting and need - rain >= 1
    month = ZoneMonth(
        zone=code,
        name=name,
        hand=hand,
        need=_need(picture, code, need, days),
        effective_rain=Figure(rain, "volume", working=(Line("rain the roots could hold", rain, "l", "FAO-56 eq. 85"),)),
        applied=Figure(
            applied,
            "volume",
            max(applied - NINETY * sd, 0.0),
            applied + NINETY * sd,
            (Line("hours run", float(days["run_minutes"].sum()) / 60, "h", "programs and runs you wrote down"),),
        ),
        percolated=Figure(float(days["percolated_l"].sum()), "volume"),
        saved=Figure(None, "volume", note="Nobody wrote down what was watered by hand.")
        if unwritten
        else saved(wanted, min(met, wanted), applied, sd, garden=need > 0, short=bool(days["stressed"].any())),
        ran_days=int(state.get("ran", 0)),
        missed_days=int(state.get("missed", 0)),
        unvouched_days=int(state.get("presumed", 0)),
        stress_days=int(days["stressed"].sum()),
        sentence="",
        resting=resting,
        unwritten=unwritten,
        excess=Figure(excess[0], "volume", working=(Line("given", applied, "l", "minutes run x flow"),)),
        excess_money=None if np.isnan(excess[1]) else excess[1],
    )
    return replace(month, sentence=_sentence(month, picture.home.display))


def _need(picture: Picture, code: str, need: float, days: pd.DataFrame) -> Figure:
    """What the plants needed on the days whose weather is known; nothing is known where there is no such day."""
    unknown = int((~days["need_known"]).sum())
    if unknown and not need:
        return Figure(None, "volume", note="No weather is known for this month, and no normals.")
    note = f"Without {counted(unknown, 'day')} whose weather is not known." if unknown else ""
    return Figure(need, "volume", *_need_range(picture, code, days), _need_lines(picture, code, days), note)


def saved(need: float, rain: float, applied: float, sd: float, *, garden: bool, short: bool) -> Figure:
    """Litres saved against overhead sprinklers: (need - rain) / efficiency - applied, with the range of both.

    Args:
        short: whether any plant was short of water on any day. Where none was, what the system gave less than the need
            came out of the soil.
    """
    if not garden:
        return Figure(None, "volume", note="Nothing planted here to compare with.")
    row = pd.DataFrame({"need_l": [max(need - rain, 0.0)], "applied_l": [applied]})
    found = saved_against_overhead(row).iloc[0]
    return Figure(
        float(found["saved_l"]),
        "volume",
        float(found["saved_low_l"]) - NINETY * sd,
        float(found["saved_high_l"]) + NINETY * sd,
        (
            Line("need that rain did not meet", max(need - rain, 0.0), "l", "FAO-56 water balance"),
            OVERHEAD_EFFICIENCY.line("efficiency of overhead sprinklers"),
            Line("overhead sprinklers would have used", float(found["overhead_l"]), "l", "need / efficiency"),
            Line("applied", applied, "l", "minutes run x flow, and watering written down"),
        ),
        (WENT_SHORT if short else FROM_SOIL) if found["short_l"] > 0.15 * need else "",
    )


def _applied_sd(picture: Picture, code: str, days: pd.DataFrame) -> float:
    rows = picture.applied[(picture.applied["zone"] == code) & picture.applied["day"].isin(days["day"])]
    return float(np.nansum(rows["sd_l"]))  # flow is off by the same share every day, so spreads add up


def _need_range(picture: Picture, code: str, days: pd.DataFrame) -> tuple[float, float]:
    """Need with every plant factor at the low and at the high end of its published range."""
    low = high = 0.0
    for version in picture.growth.versions:
        if version.zone != code or version.store.factor <= 0:
            continue
        held = picture.days[version.first : version.last].isin(days["day"])
        litres = float(np.nansum(version.need_mm[held])) * version.store.water_area_m2
        low += litres * version.store.factor_low / version.store.factor
        high += litres * version.store.factor_high / version.store.factor
    return low, high


def _need_lines(picture: Picture, code: str, days: pd.DataFrame) -> tuple[Line, ...]:
    above = picture.sky[(picture.sky.index >= days["day"].min()) & (picture.sky.index <= days["day"].max())]
    methods = ", ".join(f"{m} on {counted(n, 'day')}" for m, n in above["method"].value_counts().items())
    lines = [Line("reference ET", float(above["reference_et_mm"].sum()), "mm", methods)]
    for version in picture.growth.versions:
        held = picture.days[version.first : version.last]
        if version.zone == code and held[0] <= days["day"].max() and held[-1] >= days["day"].min():
            lines.append(Line(f"{version.name}: area", version.store.water_area_m2, "m2", "your entry"))
            lines += [line for line in version.store.sources if "factor" in line.what.lower()]
    return tuple(lines)


def _sentence(month: ZoneMonth, system: System) -> str:
    need, rain = month.need.value or 0.0, month.effective_rain.value or 0.0
    applied = month.applied.value or 0.0
    if month.need.value is None:
        got = show(applied, "volume", system)
        return f"{month.name} got {got}; no weather is known, so what its plants needed is not known."
    if not need:
        return f"{month.name} got {show(applied, 'volume', system)}; nothing planted there is written down."
    if month.resting:
        return f"{month.name} is at rest for the winter and got {show(applied, 'volume', system)}."
    net = max(need - rain, 0.0)
    share = applied / net if net > 0 else np.inf
    wanted = f"{month.name} needed {show(net, 'volume', system)} beyond rain and got {show(applied, 'volume', system)}"
    if month.unwritten:
        return f"{month.name} needed {show(net, 'volume', system)} beyond rain; {NOT_WRITTEN}"
    if net < 1 and applied < 1:
        return f"{month.name} needed nothing beyond rain and got nothing."
    verdict = "far too little" if share < 0.5 else "too little" if share < LITTLE else "about right"
    if month.too_much:
        drained = show(month.excess.value or 0.0, "volume", system)
        verdict = f"{'far ' if (month.excess.value or 0.0) > net else ''}too much, {drained} drained below the roots"
    elif share > MUCH:
        verdict = "about right, since part of it filled the soil"
    link = "; its" if share < LITTLE else ", yet its"
    short = f"{link} plants went short on {counted(month.stress_days, 'day')}" if month.stress_days else ""
    return f"{wanted}: {verdict}{short}."
