"""Homes whose people are real: days that meters of two houses felt, under the invented gardens of ``household_sim``.

What people do within a day, and how their days differ, is then nobody's idea of it. Days are drawn with replacement,
working days for working days; a garden that runs and what breaks in it are invented, since no file has them labelled.
The files and their licences are described beside them (../shared/data); nothing of them is kept in the project.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from tests.bench import household_sim as sim

FILES = Path(__file__).resolve().parents[3] / "shared" / "data"
GUEST = 0.4  # of another day, drawn as well: one person of two or three; from memory
EMPTY = 20.0  # gallons a day, below which the labelled house was empty (0, 7 and 0 while its people were gone)


@dataclass(frozen=True)
class Days:
    """Hourly gallons of whole days (days, 24), on which day of the week each was, and how many people there are."""

    gallons: NDArray[np.float64]
    weekday: NDArray[np.int64]
    people: int


@cache
def houses() -> tuple[Days, ...]:
    """A house in Spain once its drip had stopped (June; three people is our own guess) and a labelled one in Utah, its
    automatic sprinklers left out (July and August; five people, published)."""
    spain = pd.read_csv(FILES / "meter_daiad_a_smallleak_fixed.csv", parse_dates=["read_at"])
    hours = pd.date_range("2016-06-01", "2016-06-30", freq="h")
    first = hours[0]
    read = (spain["read_at"] - first).dt.total_seconds().to_numpy()
    litres = np.diff(np.interp((hours - first).total_seconds(), read, spain["register_l"].to_numpy()))
    utah = pd.read_csv(FILES / "meter_utah2020_labelled_hourly.csv", parse_dates=["read_at"], index_col="read_at")
    whole = utah.loc["2020-07-22":"2020-08-03"]
    gallons = (whole["indoor"] + whole["hose"]).to_numpy().reshape(-1, 24)
    at_home = whole["indoor"].to_numpy().reshape(-1, 24).sum(axis=1) >= EMPTY
    return (
        _days(litres.reshape(-1, 24) / sim.GAL_L, first, 3),
        _days(gallons, whole.index[0], 5, at_home),
    )


def _days(
    gallons: NDArray[np.float64], first: pd.Timestamp, people: int, keep: NDArray[np.bool_] | None = None
) -> Days:
    weekday = (np.arange(len(gallons)) + first.weekday()) % 7
    keep = np.ones(len(gallons), dtype=bool) if keep is None else keep
    return Days(gallons[keep], weekday[keep], people)


def build(seed: int, days: int = 400) -> sim.House:
    """A home with an invented garden and invented trips and guests, all written down, and real days between."""
    house = sim.build(seed, days)
    rng = np.random.default_rng(seed + 7777)
    real = houses()[seed % 2]
    resting = real.weekday >= 5
    drawn = np.zeros((days, 24))
    present = np.full(days, real.people)
    for stay in house.household:
        stay["people"] = 0 if stay["people"] == 0 else real.people + 1
        present[stay["since"] : stay["until"]] = stay["people"]
    for day in range(days):
        alike = np.flatnonzero(resting == ((day + sim.START.weekday()) % 7 >= 5))
        if present[day]:
            drawn[day] = real.gallons[rng.choice(alike)]
        if present[day] > real.people:
            drawn[day] += GUEST * real.gallons[rng.choice(alike)]
    house.people, house.softener = real.people, False
    house.indoor = np.repeat(drawn.ravel() / (60 // sim.TICK), 60 // sim.TICK)
    return house
