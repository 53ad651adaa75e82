"""Appliances of the home record that draw water by themselves in season: when, how much, and how steadily."""

from __future__ import annotations

import numpy as np

from core.accounts.accrual import Accrual
from core.accounts.instants import Floats
from core.accounts.ledger import Ledger
from core.accounts.presence import NOBODY
from core.units import to_base

MIDSUMMER = 2 * np.pi * 200 / 365.25  # the hottest weeks of the north, after 20 July; common practice, no source
YEAR_HOURS = 365.25 * 24
# The warmest hour of a day on which a cooler begins, and how much warmer it draws in full. 79 F and more: "Cool Rules",
# University of Arizona Cooperative Extension, as El Paso Water gives them; the span is common practice, no source.
COOLER_ON_C, COOLER_SPAN_C = 26.0, 12.0
COOLER_AWAY = 0.3  # of what it draws else while nobody is at home: off, or left on low; common practice, no source
# Draw in the hottest hours, its spread. Coolers of 46 homes in Phoenix took 66 gal a day over 214 days, with bleed-off
# half as much again (Karpiscak and others, Journal AWWA 90(4), 1998); of the others common practice, no source.
COOLER = to_base(5, "gph", "flow"), to_base(3, "gph", "flow")
OTHERS = 0.0, to_base(4, "gph", "flow")
FITFUL = 0.2  # of their full draw, how far appliances stray when they draw in full; common practice, no source
HOT_WEEKS = 0.7  # cosine of the time of year from midsummer, about 90 days, in which nobody switches a cooler off
SWITCHED = 2.0  # gain in the logarithm of likelihood from which a cooler is taken as off at an end of its season

_COOLER = "evaporative cooler"


def drinking_hours(ledger: Ledger, drinks: str) -> dict[str, Floats]:
    """Share of full draw in each local hour, per appliance that drinks in season.

    A cooler goes by the warmest hour of the day, as far as the weather is written down: the warmer, and where it is
    warm mostly the drier, the more it evaporates. Else it goes with the warm half of the year, as pool and fountain
    do, a humidifier with the cold half.
    """
    named, warm = drinks.lower(), _warm(ledger)
    columns = {}
    if "cooler" in named:
        afternoon = np.clip(np.sin((ledger.hour_of_week % 24 - 8) / 16 * np.pi), 0.15, None)
        by_heat = np.clip((ledger.warmest_c - COOLER_ON_C) / COOLER_SPAN_C, 0, 1.5)
        share = np.where(np.isfinite(by_heat), by_heat, np.clip(warm, 0, None) ** 1.5)
        columns[_COOLER] = share * afternoon * np.where(ledger.visiting < NOBODY, COOLER_AWAY, 1.0)
    if "pool" in named or "fountain" in named:
        columns["auto-fill"] = np.clip(warm, 0, None)
    if "humidifier" in named:
        columns["humidifier"] = np.clip(-warm, 0, None)
    return columns


def full_draw(drinking: dict[str, Floats]) -> tuple[Floats, Floats]:
    """Litres an hour that each draws in full before readings tell, and their spread."""
    usual, spread = np.array([COOLER if name == _COOLER else OTHERS for name in drinking]).reshape(-1, 2).T
    return usual, spread


def fitful(ledger: Ledger, drinking: dict[str, Floats]) -> Floats:
    """Variance per interval of what each appliance draws, of one that draws a litre an hour in full.

    The less they draw, the less steady. Readings of an hour have none: their densities hold it already.
    """
    hours = [
        Accrual.of_rates(ledger.hour_edges, np.sqrt(d)).between(ledger.start, ledger.end) for d in drinking.values()
    ]
    variance = (FITFUL * np.column_stack([np.zeros(len(ledger.start)), *hours])[:, 1:]) ** 2
    variance[ledger.fine] = 0.0
    return variance


def in_season(
    ledger: Ledger, drinking: dict[str, Floats], full: Floats, left: Floats, sigma: Floats
) -> dict[str, Floats] | None:
    """The same with the cooler off before somebody switched it on in spring and after they switched it off in autumn,
    as the readings tell; None where they tell nothing of it.

    Args:
        full: litres an hour each draws in full. left: litres per interval less everything expected, NaN where it does
            not count. sigma: its standard deviation.
    """
    if _COOLER not in drinking:
        return None
    place = list(drinking).index(_COOLER)
    share = drinking[_COOLER]
    drawn = full[place] * Accrual.of_rates(ledger.hour_edges, share).between(ledger.start, ledger.end)
    gain = np.nan_to_num((left**2 - (left + drawn) ** 2) / (2 * sigma**2))
    off = np.zeros(len(share), dtype=bool)
    since_summer = (ledger.season - _midsummer(ledger)) % (2 * np.pi)
    at = since_summer[ledger.hour_of(ledger.start)] / (2 * np.pi)
    year = np.floor((ledger.start - at * YEAR_HOURS) / YEAR_HOURS + 0.25)  # one number from midsummer to midsummer
    cool = _warm(ledger)[ledger.hour_of((ledger.start + ledger.end) / 2)] < HOT_WEEKS
    for each in np.unique(year):
        rows = np.flatnonzero((year == each) & cool)
        autumn, spring = rows[at[rows] < 0.5], rows[at[rows] >= 0.5]
        for edge in (autumn[::-1], spring):
            run = np.cumsum(gain[edge])
            if len(run) and run.max() > SWITCHED:
                rest = edge[: int(run.argmax()) + 1]
                first, last = ledger.start[rest].min(), ledger.end[rest].max()
                off |= (ledger.hour_edges[:-1] >= first - 0.5) & (ledger.hour_edges[:-1] < last - 0.5)
    return {**drinking, _COOLER: np.where(off, 0.0, share)} if off.any() else None


def _warm(ledger: Ledger) -> Floats:
    """Cosine of the time of year from midsummer, per local hour."""
    result: Floats = np.cos(ledger.season - _midsummer(ledger))
    return result


def _midsummer(ledger: Ledger) -> float:
    """The angle of the year at the height of summer where the home is."""
    return MIDSUMMER + np.pi * ledger.south
