"""An invented home with years of hourly readings, daily weather and five zones, as a folder of CSV files.

It shares nothing with core: numbers are drawn, not worked out by its equations. It is a load, not a story.
"""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

ZONE = ZoneInfo("America/Denver")
LAST = date(2026, 10, 1)
ZONES = {"pots": 18, "beds": 64, "hedge": 47, "roses": 33, "slope": 95}  # gal/h
DAYS = {"pots": "daily", "beds": "mon wed fri", "hedge": "tue sat", "roses": "every 3 from 2016-04-15", "slope": "even"}
MINUTES = {"pots": 12, "beds": 40, "hedge": 60, "roses": 45, "slope": 50}
SEASONS = ((4, 15, 60), (6, 1, 100), (8, 20, 75))  # month, day, percent


_FIXED = {
    "home": """\
code,name,latitude,longitude,elevation_ft,timezone,display,people,currency,shutdown_due,startup_due
home,Long bench,40.2,-111.7,4550,America/Denver,us,3,$,10-20,04-15
""",
    "supply": """\
code,name,source,metered,static_pressure_psi,drip_pressure_psi,backflow,filter
town,Town water,main,yes,60,25,at the faucet,150 mesh
""",
    "meter": "code,name,supply,unit,digits,resolution\nstreet,Street,town,gal,7,1\n",
    "controller": "code,name,power,follows_dst\ntimer,Timer,battery,yes\n",
}
_PER_ZONE = {
    "zone": ("code,name,supply,controller,hand", "{zone},{zone},town,timer,no"),
    "planting": (
        "zone,code,since,name,plant_type,count,canopy_ft,soil",
        "{zone},{zone}-plants,{first},{zone},shrub,4,3,loam",
    ),
    "emitter_group": (
        "zone,code,since,device,count,flow_each_gph,rated_pressure_psi,exponent,waters",
        "{zone},drip,{first},button,{flow},1,25,0,{zone}-plants",
    ),
}
_PRICES = """\
supply,since,period_months,first_day,unit,base,prices
town,{first},1,1,kgal,20,to 4: 3.65 / to 10: 5.10 / rest: 6.17
"""


def make(folder: Path, years: int = 10, seed: int = 20261001) -> Path:
    """Write the home's files into a folder: readings to the hour, weather to the day."""
    dice = np.random.default_rng(seed)
    first = date(LAST.year - years, LAST.month, LAST.day)
    folder.mkdir(parents=True, exist_ok=True)
    texts = _FIXED | {"tariff": _PRICES.format(first=first)}
    for kind, (header, row) in _PER_ZONE.items():
        rows = [row.format(zone=zone, flow=flow, first=first) for zone, flow in ZONES.items()]
        texts[kind] = "\n".join([header, *rows, ""])
    for kind, text in texts.items():
        (folder / f"{kind}.csv").write_text(text)
    tables = {
        "program": _programs(first),
        "pause": _winters(first),
        "weather": _weather(first, dice),
        "rain": _rain(first, dice),
    }
    for kind, table in tables.items():
        table.to_csv(folder / f"{kind}.csv", index=False)
    readings(folder / "meter_reading.csv", (LAST - first).days * 24, dice)
    return folder


def readings(path: Path, hours: int, dice: np.random.Generator) -> None:
    """Hourly register readings up to the last day: people, programs, and a drip each June."""
    at = pd.date_range(end=pd.Timestamp(LAST, tz=ZONE).tz_convert("UTC"), periods=hours, freq="h")
    local = at.tz_convert(ZONE)
    hour = local.hour.to_numpy()
    people = dice.poisson(np.where((hour >= 6) & (hour <= 22), 7.0, 0.4)).astype(float)
    drip = np.where((local.month == 6) & (local.day > 10), 2.0, 0.0)
    use = people + drip + _garden(local) * dice.normal(1.0, 0.02, hours)
    register = (123_456 + np.floor(np.cumsum(use))).astype(int) % 10_000_000
    wall = local.strftime("%Y-%m-%d %H:%M%z")
    rows = pd.DataFrame(
        {"meter": "street", "at": wall.str[:-2] + ":" + wall.str[-2:], "register_value": register, "how": "file"}
    )
    rows.to_csv(path, index=False)


def _garden(local: pd.DatetimeIndex) -> np.ndarray:
    """Gallons of the programs in the hour that ends at each reading."""
    day = (local - pd.Timedelta(hours=1)).normalize().tz_localize(None)
    clock = (local - pd.Timedelta(hours=1)).hour.to_numpy()
    weekday, since = day.weekday.to_numpy(), (day - pd.Timestamp("2016-04-15")).days.to_numpy()
    mmdd = day.month.to_numpy() * 100 + day.day.to_numpy()
    percent = np.select([mmdd < 415, mmdd < 601, mmdd < 820, mmdd < 1018], [0, 60, 100, 75], 0)
    waters = {
        "pots": np.ones(len(day), bool),
        "beds": np.isin(weekday, (0, 2, 4)),
        "hedge": np.isin(weekday, (1, 5)),
        "roses": since % 3 == 0,
        "slope": day.day.to_numpy() % 2 == 0,
    }
    total = np.zeros(len(day))
    for place, (zone, flow) in enumerate(ZONES.items()):
        begins = 4 * 60 + 10 * place
        ends = begins + MINUTES[zone] * percent / 100
        minutes = np.clip(np.minimum(ends, 60 * (clock + 1)) - np.maximum(begins, 60 * clock), 0, None)
        total += np.where(waters[zone], flow * minutes / 60, 0.0)
    return total


def _programs(first: date) -> pd.DataFrame:
    turns = [
        (date(year, month, day), percent)
        for year in range(first.year, LAST.year + 1)
        for month, day, percent in SEASONS
    ]
    turns = sorted(turn for turn in turns if first <= turn[0] < LAST)
    ends = [since for since, _ in turns[1:]] + [None]
    rows = [
        (zone, "a", since, until, DAYS[zone], f"04:{10 * place:02d}", MINUTES[zone], percent)
        for place, zone in enumerate(ZONES)
        for (since, percent), until in zip(turns, ends, strict=True)
    ]
    return pd.DataFrame(rows, columns=["zone", "label", "since", "until", "days", "starts", "minutes", "percent"])


def _winters(first: date) -> pd.DataFrame:
    rows = [("all", date(y, 10, 18), date(y + 1, 4, 14), "winter") for y in range(first.year, LAST.year)]
    return pd.DataFrame(rows, columns=["scope", "since", "until", "reason"])


def _weather(first: date, dice: np.random.Generator) -> pd.DataFrame:
    days = pd.date_range(first, LAST, freq="D")
    swing = np.sin(2 * np.pi * (days.day_of_year.to_numpy() - 110) / 365.25)
    low = np.round(36 + 22 * swing + dice.normal(0, 5, len(days)))
    high = low + np.round(dice.uniform(12, 32, len(days)))
    return pd.DataFrame({"station": "airfield", "day": days.strftime("%Y-%m-%d"), "tmin_f": low, "tmax_f": high})


def _rain(first: date, dice: np.random.Generator) -> pd.DataFrame:
    rows: list[tuple[str, str, str, float]] = []
    day = first
    while day < LAST - timedelta(days=20):
        day += timedelta(days=int(dice.integers(2, 12)))
        amount = round(float(dice.gamma(0.8, 0.25)) + 0.01, 2)
        rows.append(("yard", f"{day} 07:00", f"{day + timedelta(days=1)} 07:00", amount))
    return pd.DataFrame(rows, columns=["gauge", "start", "end", "rain_in"])
