"""What a zone must be given in a month to come: its plants' need, their shares of its water, its flow, its soil."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from core.accounts.flow import planting_shares
from core.accounts.instants import day_range
from core.errors import EntryError
from core.figures import Line
from core.review.brought import delivery_factors
from core.review.growth import month_factors, wetted_share
from core.review.mixed import Evenness, evenness
from core.review.outlook import Outlook, coming
from core.review.picture import Picture
from core.review.spoken import listed
from core.water.efficiency import DRIP_EFFICIENCY, OVERHEAD_EFFICIENCY
from core.water.mix import zone_mix
from core.water.need import daily_need_mm
from core.water.planting import planting_factors, planting_store
from core.water.program import ZoneNeed
from core.water.runtime import application_rate_mm_h, early_intake_mm_h, gross_mm, interval_days
from core.water.soil import fraction_for_demand
from core.water.tables import plant_type, soil


@dataclass(frozen=True)
class Demand:
    """What a zone must be given a day.

    Attributes:
        need: for :func:`core.water.program.fitting_program`.
        plantings: planting, name, need_l, rain_l, net_l, given_l, surplus_l (a day, before losses), lasts_days,
            as_grown ("" or the month it last grew in).
        driver: name of the planting that sets the run time.
        lines: from need to what must be applied.
        note: what to know about it, or "".
    """

    need: ZoneNeed
    plantings: pd.DataFrame
    driver: str
    lines: tuple[Line, ...]
    note: str


@dataclass(frozen=True)
class Facts:
    """What every month's demand rests on, looked up once.

    Attributes:
        flows: zone to litres per hour as of today, corrected by the meter (NaN: not known), and where it is from.
        shares: how today's emitters divide each zone's water (:func:`core.accounts.flow.planting_shares`).
        factors: plant factors set by hand for a month (:func:`core.review.growth.month_factors`).
        even: catch tests by zone; problems: those that cannot be read.
    """

    flows: dict[str, tuple[float, str]]
    shares: pd.DataFrame
    factors: dict[tuple[str, str], dict[int, float]]
    even: dict[str, Evenness]
    problems: tuple[str, ...]


def facts_of(picture: Picture) -> Facts:
    """The facts as of the picture's day."""
    frames, flows, today = picture.frames, picture.flows, pd.Timestamp(picture.today)
    real = delivery_factors(picture.accounts).set_index("zone")["factor"].to_dict()
    shares = planting_shares(frames["zone"], frames["emitter_group"], frames["supply"])
    even, problems = evenness(picture, picture.today)
    return Facts(
        flows={z: _flow(flows[flows["zone"] == z], today, real.get(z, 1.0)) for z in frames["zone"]["code"]},
        shares=pd.concat([_now(rows, today) for _, rows in shares.groupby("zone")]) if len(shares) else shares,
        factors=month_factors(frames["factor_month"]),
        even={e.zone: e for e in even},
        problems=problems,
    )


def _flow(flows: pd.DataFrame, today: pd.Timestamp, factor: float) -> tuple[float, str]:
    row = _now(flows, today).tail(1)
    if row.empty or not np.isfinite(row["flow_lph"].iloc[0]):
        return float("nan"), "not known"
    source = str(row["source"].iloc[0])
    if abs(factor - 1) >= 0.005:
        source += f", times {factor:.2f} by the meter"
    return float(row["flow_lph"].iloc[0]) * factor, source


def _now(rows: pd.DataFrame, today: pd.Timestamp) -> pd.DataFrame:
    """The rows that hold today, else the latest."""
    held = rows[(rows["since"] <= today) & (rows["until"].isna() | (rows["until"] > today))]
    return held if len(held) else rows[rows["since"] == rows["since"].max()]


def zone_demand(picture: Picture, zone: Mapping[Any, Any], month: int, weather: Outlook, facts: Facts) -> Demand | None:
    """What a zone must be given in a month of the year; None when nothing grows there then, by what is written down.

    Annual plants and pots that are gone for the season count as they last stood in that month. Every planting gets its
    need when the thirstiest for its share of the emitters does (:func:`core.water.mix.zone_mix`); the loss by uneven
    watering is the zone's own catch test, or else the efficiency of its sort of emitters, never both.

    Raises:
        EntryError: the flow is not known, nobody ever wrote down what grows there, no emitter reaches a planting, or
            one cannot be worked out.
    """
    code = str(zone["code"])
    flow, source = facts.flows[code]
    if not np.isfinite(flow) or flow <= 0:
        raise EntryError("Its flow is not known. Write down its emitters, or a flow test.")
    emitters = picture.frames["emitter_group"]
    rows = [
        _planting(row, days, weather, facts, emitters) | {"as_grown": grown}
        for row, days, grown in _standing(picture, code, month)
    ]
    if not rows:
        if not (picture.frames["planting"]["zone"] == code).any():
            raise EntryError("What grows there is not written down.")
        return None
    table = pd.DataFrame(rows)
    table["share"] = _shares(facts.shares[facts.shares["zone"] == code], table)
    dry = table[(table["share"] <= 0) & (table["net_l"] > 0)]
    if len(dry):
        raise EntryError(f"No emitter waters {listed(dry['name'])}. Put that right before a program can fit.")
    bare = max(1.0 - float(table["share"].sum()), 0.0)  # emitters over ground where nothing stands
    mix = zone_mix([*map(str, table["planting"]), ""], [*table["net_l"], 0.0], [*table["share"], bare])
    table["given_l"] = mix.plantings["given_l"].to_numpy(float)[: len(table)]
    table["surplus_l"] = mix.plantings["surplus_l"].to_numpy(float)[: len(table)]
    loss, loss_line = _loss(emitters, code, facts.even)
    gross = float(gross_mm(mix.given_l, **loss))
    rate, intake = _ponds_first(table, flow)
    needing = table[table["net_l"] > 0]
    lasts = float(needing["lasts_days"].min()) if len(needing) else np.inf
    driver = str(dict(zip(table["planting"], table["name"], strict=True)).get(mix.driver, ""))
    grown = dict.fromkeys(g for g in table["as_grown"] if g)
    return Demand(
        need=ZoneNeed(gross, flow, lasts, rate, intake),
        plantings=table,
        driver=driver,
        lines=(
            *weather.lines,
            Line(
                "need of all plants beyond rain, a day",
                float(table["net_l"].sum()),
                "l",
                "reference ET x factor x area",
            ),
            Line(f"for {driver} to get its share, a day", mix.given_l, "l", "need over share of the zone's emitters"),
            loss_line,
            Line("to be applied, a day", gross, "l", ""),
            Line("flow of the zone", flow, "lph", source),
            Line("the smallest store lasts", lasts, "days", "readily available water over need (FAO-56 eq. 83)"),
        ),
        note=f"Plants of the season count as grown in {listed(grown)}." if grown else "",
    )


def _standing(picture: Picture, code: str, month: int) -> list[tuple[pd.Series, pd.DatetimeIndex, str]]:
    """Planting rows of a zone in a month to come, the days they stand in it, and the month they last grew in or ""."""
    first, following = coming(picture.today, month)
    ends = pd.Timestamp(following)
    begins = max(pd.Timestamp(first), pd.Timestamp(picture.today))
    rows = picture.frames["planting"]
    found = []
    for _, versions in rows[rows["zone"] == code].groupby("code", sort=False):
        held = _overlap(versions, begins, ends)
        grown = ""
        if held is None and picture.today < first:  # gone for the season, to be planted again
            seasonal = plant_type(str(versions.iloc[-1]["plant_type"])).sort == "annual" or versions.iloc[-1]["in_pots"]
            back = pd.DateOffset(years=1)
            held = _overlap(versions, pd.Timestamp(first) - back, ends - back) if seasonal else None
            grown = f"{first - back:%B %Y}" if held is not None else ""
        if held is not None:
            found.append((*held, grown))
    return found


def _overlap(
    versions: pd.DataFrame, begins: pd.Timestamp, ends: pd.Timestamp
) -> tuple[pd.Series, pd.DatetimeIndex] | None:
    standing = versions[(versions["since"] < ends) & (versions["until"].isna() | (versions["until"] > begins))]
    if standing.empty:
        return None
    row = standing.sort_values("since").iloc[-1]
    last = ends if pd.isna(row["until"]) else min(ends, row["until"])
    days = day_range(max(begins, row["since"]).date(), (last - pd.Timedelta(days=1)).date())
    return row, days


def _planting(
    row: pd.Series, days: pd.DatetimeIndex, weather: Outlook, facts: Facts, emitters: pd.DataFrame
) -> dict[str, Any]:
    store = planting_store(row)
    factor = float(planting_factors(row, days, facts.factors.get((row["zone"], row["code"]), {})).mean())
    need = float(daily_need_mm(weather.reference_et_mm, factor))
    rain = min(weather.rain_mm * store.rain_share, need)
    wetted = 1.0 if row["in_pots"] else wetted_share(row, emitters)
    fraction = float(fraction_for_demand(store.depletion_fraction, need))
    return {
        "planting": row["code"],
        "name": row["name"],
        "area_m2": store.water_area_m2,
        "wetted": wetted,
        "intake_mm_h": np.nan if row["in_pots"] else early_intake_mm_h(soil(str(row["soil"])).intake_mm_h),
        "factor": factor,
        "need_l": need * store.water_area_m2,
        "rain_l": rain * store.water_area_m2,
        "net_l": (need - rain) * store.water_area_m2,
        "lasts_days": float(interval_days(store.total_available_mm * wetted, fraction, need)),
    }


def _shares(held: pd.DataFrame, table: pd.DataFrame) -> np.ndarray:
    """Each planting's share of the zone's water: by its emitters, else by area."""
    if held.empty:
        area = table["area_m2"].to_numpy(float)
        return area / area.sum() if area.sum() > 0 else np.zeros(len(table))
    return held.set_index("planting")["share"].reindex(table["planting"]).fillna(0.0).to_numpy(float)


def _loss(groups: pd.DataFrame, code: str, even: Mapping[str, Evenness]) -> tuple[dict[str, float], Line]:
    if code in even:
        return {"uniformity": even[code].share}, even[code].line()
    devices = set(groups.loc[groups["zone"] == code, "device"])
    if devices and devices <= {"sprayer"}:
        return {"efficiency": OVERHEAD_EFFICIENCY.value}, OVERHEAD_EFFICIENCY.line("efficiency of sprayers")
    return {"efficiency": DRIP_EFFICIENCY.value}, DRIP_EFFICIENCY.line("efficiency of drip")


def _ponds_first(table: pd.DataFrame, flow_lph: float) -> tuple[float | None, float | None]:
    """Application rate and intake of the planting in the ground whose soil ponds first; None for pots alone."""
    ground = table[table["intake_mm_h"].notna() & (table["share"] > 0) & (table["area_m2"] > 0)]
    if ground.empty:
        return None, None
    rate = application_rate_mm_h(flow_lph * ground["share"], ground["area_m2"] * ground["wetted"])
    worst = int(np.argmax(rate - ground["intake_mm_h"].to_numpy(float)))
    return float(rate[worst]), float(ground["intake_mm_h"].iloc[worst])
