"""What the house uses by itself: level, hours of the week, season, and the appliances that drink.

The level starts from a published figure per person and moves to the household's own as readings come in. It is
learned from time without irrigation where there is any, by methods that single events do not move, and never
from stretches that a finding already explains, so that a leak is not learned as normal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.accounts.accrual import Accrual
from core.accounts.instants import Flags, Floats
from core.accounts.ledger import Ledger
from core.figures import Figure, Line
from core.units import to_base

# 55 gal a person and day indoors: planning figure of Rancho Water and Menlo Park CA (published).
PERSON_L_DAY = to_base(55, "gal", "volume")
PRIOR_SPREAD = 0.4  # of the logarithm of a household's level; WRF 4309 finds homes from a third to three times the mean
DAY_SPREAD = 0.35  # standard deviation of a household's day against its mean; common practice, no source
# EPA WaterSense, Fix a Leak: a family of four above 12,000 gal a winter month likely has a serious leak.
HEAVY_PERSON_L_DAY = to_base(12_000, "gal", "volume") / 4 / 30.4
ENOUGH_FINE_HOURS = 72

# Usual course of a home's day, mean 1; common practice, no source. Used until hourly readings tell the own course.
_COURSE = np.array(
    "0.4 0.25 0.2 0.2 0.3 0.7 1.5 1.9 1.7 1.4 1.2 1.1 1.1 1.0 0.9 0.9 1.1 1.3 1.5 1.5 1.3 1.1 0.85 0.6".split(),  # noqa: SIM905 - a list would fill a column
    dtype=np.float64,
)
USUAL_COURSE: Floats = np.tile(_COURSE / _COURSE.mean(), 7)


@dataclass(frozen=True, slots=True)
class Baseline:
    """Indoor use when the usual people are at home.

    Attributes:
        level, level_sd: litres an hour, mean over the week and year.
        day_sd: standard deviation of one day's use, litres.
        readings: how many intervals taught it; 0 while it is the published prior.
        accrued: the expected indoor litres over the ledger's hours.
    """

    level: float
    level_sd: float
    day_sd: float
    readings: int
    accrued: Accrual

    @property
    def day_l(self) -> float:
        """Litres on a typical day."""
        return self.level * 24


def prior_level(people: int) -> tuple[float, float]:
    """Litres an hour expected of a household nobody has measured, and its standard deviation."""
    level = PERSON_L_DAY * people / 24
    return level, PRIOR_SPREAD * level


def indoor_shape(ledger: Ledger, course: Floats) -> Floats:
    """Relative indoor use in each local hour of the ledger: hour of week times people at home."""
    result: Floats = course[ledger.hour_of_week] * ledger.people
    return result


def learn_course(ledger: Ledger, use: Floats, clean: Flags) -> Floats | None:
    """The household's own 168 hours of the week, or None while hourly readings are too few.

    Each hour is drawn towards the mean of its hour on such days, and that towards the usual course, the less
    the fewer times it was seen. The largest half percent is cut back, so no single event shapes an hour.

    Args:
        use: litres left in each interval after zones and other use.
        clean: intervals to learn from: hourly, without irrigation, nothing unusual.
    """
    if clean.sum() < ENOUGH_FINE_HOURS:
        return None
    index = ledger.hour_of((ledger.start + ledger.end)[clean] / 2)
    how = ledger.hour_of_week[index]
    people = ledger.people[index]
    home = (ledger.visiting[index] > 0.5) & ~ledger.unsure[index]
    how, rate = how[home], (use[clean] / ledger.hours[clean] / np.maximum(people, 0.2))[home]
    if len(rate) < ENOUGH_FINE_HOURS:
        return None
    rate = np.clip(rate, 0, np.quantile(rate, 0.995))
    level = max(rate.mean(), 1e-9)
    hour, weekend = how % 24, how >= 120
    by_hour = _drawn(hour, rate, 24, level * USUAL_COURSE[:24] * _beside(hour, rate / level), 6.0)
    by_kind = _drawn(hour + 24 * weekend, rate, 48, np.tile(by_hour, 2), 6.0)
    toward = by_kind[np.arange(168) % 24 + 24 * (np.arange(168) >= 120)]
    course = _drawn(how, rate, 168, toward, 8.0)
    return np.asarray(course / max(course.mean(), 1e-9))


def _beside(hour: np.ndarray, rate: Floats) -> Floats:
    """How much more than usual (ratio) the house uses in each hour of the day by itself and the hours beside it, which
    tell of an hour in which a zone runs every day.
    """
    near = np.array([0.25, 0.5, 1.0, 0.5, 0.25])
    both = np.stack([np.bincount(hour, rate, 24), np.bincount(hour, USUAL_COURSE[:24][hour], 24)])
    seen, due = (np.lib.stride_tricks.sliding_window_view(np.pad(each, 2, "wrap"), 5) @ near for each in both)
    result: Floats = (seen + 6.0) / (due + 6.0)
    return result


def _drawn(label: np.ndarray, value: Floats, size: int, toward: Floats, weight: float) -> Floats:
    count = np.bincount(label, minlength=size)
    total = np.bincount(label, weights=value, minlength=size)
    result: Floats = (total + weight * toward) / (count + weight)
    return result


def describe(ledger: Ledger, base: Baseline) -> Figure:
    """Indoor litres on a typical day, with its working and what it cannot know."""
    people = ledger.home_people
    prior, _ = prior_level(people)
    spread = 1.645 * base.level_sd * 24
    lines = [Line("people usually at home", people, "", "your home record")]
    lines.append(
        Line(
            "indoor use a person and day, before readings tell",
            PERSON_L_DAY,
            "l",
            "planning figure of Rancho Water and Menlo Park CA",
        )
    )
    if base.readings:
        lines.append(Line("readings it was learned from", base.readings, "", "your meter"))
        lines.append(Line("indoor use on a typical day", base.day_l, "l", "your meter, single events set aside"))
        if people:
            lines.append(Line("a person and day", base.day_l / people, "l", "your meter"))
    lines.append(Line("day-to-day spread", base.day_sd, "l", "standard deviation"))
    note = ""
    if not base.readings:
        note = "No reading tells it yet, so this is a published figure per person."
    elif people and base.day_l / people > HEAVY_PERSON_L_DAY:
        note = (
            "This is more a person than EPA WaterSense takes for a likely serious leak. A leak that ran from the "
            "first reading on would look just like this: test with everything off."
        )
    elif people and base.level > 1.6 * prior:
        note = "This is high for so few people. A leak that ran from the first reading on would look like this too."
    return Figure(base.day_l, "volume", max(base.day_l - spread, 0), base.day_l + spread, tuple(lines), note)
