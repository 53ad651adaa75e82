"""A month of the plants: what each planting needed, got, lost and felt; enough or too much by zone and week."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

import numpy as np
import pandas as pd

from core.days import month_days
from core.errors import EntryError
from core.figures import Figure, Line
from core.review.beginnings import Beginning, beginning
from core.review.enough import is_too_much
from core.review.growth import Version
from core.review.missed import MissedLink, missed_links
from core.review.mixed import Evenness, ZoneMixTold, evenness, mixes
from core.review.picture import Picture
from core.review.plants_told import headline, planting_sentence, weather_told
from core.review.weeks import (
    by_planting,
    planting_water,
    resting_zones,
    share_money,
    unwritten_zones,
    zone_money,
    zone_totals,
    zone_water,
    zone_weeks,
)
from core.units import System
from core.water.tables import plant_type

RANGE = "From the low to the high end of the published range of its plant factor."


@dataclass(frozen=True, slots=True)
class PlantingMonth:
    """One planting's month. Figures are litres unless their quantity says otherwise; None where nothing is known.

    Attributes:
        zone, planting, zone_name, name, plant_type: codes and words. count, in_pots, area_m2: of its last version.
        factor: mean factor on reference ET; factor_lines say where it is from. need: depth in mm over the area.
        need_l, a_day, each_a_day: litres of the month, a day, a day and plant.
        rain: rain that stayed in the root zone. applied: what it was given. percolated: all that drained below it.
        excess: of what was applied, the litres that drained; short: litres of the need that were not met; each with its
            money, None without a meter or tariff.
        stress_days, lowest_stress: days short of water, and the least share of the need met on one day (Ks).
        unknown_days: days on which weather, store or water given is not known; they are in no figure.
        too_much: whether excess is (:mod:`core.review.enough`).
        begun: how its store was taken to begin, where that still matters in the month.
        sentence: the month in one sentence.
    """

    zone: str
    planting: str
    zone_name: str
    name: str
    plant_type: str
    count: int
    in_pots: bool
    area_m2: float
    factor: float
    factor_lines: tuple[Line, ...]
    need: Figure
    need_l: Figure
    a_day: Figure
    each_a_day: Figure
    rain: Figure
    applied: Figure
    percolated: Figure
    excess: Figure
    short: Figure
    excess_money: float | None
    short_money: float | None
    stress_days: int
    lowest_stress: float | None
    unknown_days: int
    too_much: bool
    begun: Beginning | None
    sentence: str


@dataclass(frozen=True)
class PlantsMonth:
    """The plants' month.

    Frames (litres; naive local days): ``weeks`` and ``zones`` as :func:`core.review.weeks.zone_weeks` with
    excess_money and short_money, the zones with ``too_much`` as well; ``days`` as
    :func:`core.review.weeks.zone_water`. ``resting``: codes of the zones at rest for the winter on most days of the
    month, where nothing counts as lacking. ``unwritten``: those watered by hand of which nobody wrote anything down,
    so that what they got is not known.
    """

    month: str
    first: date
    last: date
    as_of: datetime
    system: System
    currency: str
    names: dict[str, str]  # zone code to name
    sentences: tuple[str, ...]
    plantings: tuple[PlantingMonth, ...]
    links: tuple[MissedLink, ...]
    mixes: tuple[ZoneMixTold, ...]
    evenness: tuple[Evenness, ...]
    weather: tuple[str, ...]
    problems: tuple[str, ...]
    resting: frozenset[str] = frozenset()
    unwritten: frozenset[str] = frozenset()
    weeks: pd.DataFrame = field(default_factory=pd.DataFrame)
    zones: pd.DataFrame = field(default_factory=pd.DataFrame)
    days: pd.DataFrame = field(default_factory=pd.DataFrame)


def plants_month(picture: Picture, month: str) -> PlantsMonth:
    """Cut one month of the plants out of the picture.

    Raises:
        EntryError: not a month, or one that had not begun.
    """
    first, following = month_days(month)
    if first > picture.today:
        raise EntryError(f"{month} has not begun. The latest month there is to look at is {picture.today:%Y-%m}.")
    last = min(following - timedelta(days=1), picture.today)
    water = planting_water(picture, first, last)
    days = zone_water(picture, water, first, last)
    zones = zone_totals(days)
    money = zone_money(picture, days)
    weeks, zones, priced = (share_money(table, zones, money) for table in (zone_weeks(days), zones, by_planting(water)))
    plantings = _plantings(picture, water, priced.set_index(["zone", "planting"]), first)
    links, mixed = missed_links(picture, water, first, last), mixes(picture, water, first, last)
    even, unread = evenness(picture, last)
    resting = resting_zones(picture, first, last)
    unwritten = unwritten_zones(picture, first, last) - resting
    names = picture.zone_names
    above = picture.sky[pd.Timestamp(first) : pd.Timestamp(last)]
    unflowed = [
        f"{names.get(zone, zone)} ran and its flow is not known: write down its emitters or a flow test."
        for zone in days.loc[~days["flow_known"], "zone"].unique()
    ]
    return PlantsMonth(
        month=month,
        first=first,
        last=last,
        as_of=picture.as_of,
        system=picture.home.display,
        currency=picture.home.currency,
        names=names,
        sentences=headline(picture, zones, links, resting, unwritten),
        plantings=plantings,
        links=links,
        mixes=mixed,
        evenness=even,
        weather=weather_told(above, first, picture.home.display),
        problems=(*picture.growth.problems, *unread, *unflowed),
        resting=resting,
        unwritten=unwritten,
        weeks=weeks,
        zones=zones,
        days=days,
    )


def _plantings(picture: Picture, water: pd.DataFrame, priced: pd.DataFrame, first: date) -> tuple[PlantingMonth, ...]:
    """In the order of the book's zones, then as they were written down."""
    out = []
    for zone in picture.frames["zone"].to_dict("records"):
        written = picture.frames["planting"]
        for code in dict.fromkeys(written.loc[written["zone"] == zone["code"], "code"]):
            rows = water[(water["zone"] == zone["code"]) & (water["planting"] == code)]
            if len(rows):
                versions = _standing(picture, zone["code"], str(code), rows)
                out.append(_planting(picture, zone["name"], versions, rows, priced.loc[(zone["code"], code)], first))
    return tuple(out)


def _standing(picture: Picture, zone: str, code: str, rows: pd.DataFrame) -> list[Version]:
    low, high = (int(picture.days.searchsorted(d)) for d in (rows["day"].min(), rows["day"].max()))
    return [
        v for v in picture.growth.versions if (v.zone, v.planting) == (zone, code) and v.first <= high and v.last > low
    ]


def _planting(
    picture: Picture, zone_name: str, versions: list[Version], rows: pd.DataFrame, priced: pd.Series, first: date
) -> PlantingMonth:
    version = versions[-1]
    row, store, known = version.row, version.store, rows[rows["known"]]
    n, count = len(known), int(row["count"])
    sums = {c: float(known[c].sum()) for c in ("need_l", "effective_rain_l", "applied_l", "rain_l")}
    factor, spread, factor_lines = _factor(version, rows)
    working = (
        Line("reference ET", _reference_mm(picture, known), "mm", "by the best method of each day"),
        Line("plant factor, mean of the month", factor, "", "below"),
        *factor_lines,
    )

    def litres(column: str, *lines: Line) -> Figure:
        return Figure(float(known[column].sum()) if n else None, "volume", working=lines)

    def ranged(value: float, quantity: str) -> Figure:
        if not n:
            return Figure(None, quantity)
        return Figure(value, quantity, value * spread[0], value * spread[1], working, RANGE)

    begun = [beginning(picture, v, pd.Timestamp(first)) for v in versions]
    a_day = sums["need_l"] / n if n else None
    stress_days = int(rows["stressed"].sum())
    return PlantingMonth(
        zone=version.zone,
        planting=version.planting,
        zone_name=zone_name,
        name=version.name,
        plant_type=plant_type(str(row["plant_type"])).name,
        count=count,
        in_pots=version.in_pots,
        area_m2=store.water_area_m2,
        factor=factor,
        factor_lines=factor_lines,
        need=ranged(float(known["need_mm"].sum()), "depth"),
        need_l=ranged(sums["need_l"], "volume"),
        a_day=ranged(a_day or 0.0, "volume"),
        each_a_day=ranged((a_day or 0.0) / max(count, 1), "volume"),
        rain=litres("effective_rain_l", Line("rain that reached it", sums["rain_l"], "l", "your gauge")),
        applied=Figure(float(rows["applied_l"].sum()) if rows["applied_l"].notna().any() else None, "volume"),
        percolated=litres("percolated_l"),
        excess=litres("drained_l", Line("applied", sums["applied_l"], "l", "minutes run x flow x share of the zone")),
        short=litres("short_l", Line("need", sums["need_l"], "l", "reference ET x factor x area")),
        excess_money=_known(priced["excess_money"]),
        short_money=_known(priced["short_money"]),
        stress_days=stress_days,
        lowest_stress=float(known["stress_coefficient"].min()) if n else None,
        unknown_days=len(rows) - n,
        too_much=is_too_much(sums["need_l"], sums["effective_rain_l"], float(known["drained_l"].sum())),
        begun=next((b for b in begun if b is not None), None),
        sentence=planting_sentence(
            version.name,
            a_day,
            sums["need_l"],
            sums["effective_rain_l"],
            sums["applied_l"],
            float(known["drained_l"].sum()),
            stress_days,
            picture.home.display,
            unwritten=bool(rows["unwritten"].all()),
        ),
    )


def _known(value: float) -> float | None:
    return None if np.isnan(value) else float(value)


def _reference_mm(picture: Picture, known: pd.DataFrame) -> float:
    return float(picture.sky["reference_et_mm"].reindex(known["day"]).sum())


def _factor(version: Version, rows: pd.DataFrame) -> tuple[float, tuple[float, float], tuple[Line, ...]]:
    """Mean factor of the month, its published range as shares of it, and where it comes from."""
    store, months = version.store, sorted(set(rows["day"].dt.month) & set(version.month_factors))
    own = tuple(Line("plant factor, this month", version.month_factors[m], "", "your own, by month") for m in months)
    fixed = bool(own) or store.factor <= 0
    spread = (1.0, 1.0) if fixed else (store.factor_low / store.factor, store.factor_high / store.factor)
    return float(rows["factor"].mean()), spread, (*own, *store.sources)
