"""The shape of a month's review. Everything in it is metric; the screen chooses units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

import pandas as pd

from core.accounts.findings import Finding
from core.accounts.suspects import Stay
from core.care.due import DueItem
from core.figures import Figure
from core.review.enough import is_too_much
from core.units import System

__all__ = ["DueItem", "MonthReview", "NextStep", "PartUse", "ZoneMonth"]


PART_NAMES = {"indoor": "Indoor", "other": "Logged other use", "unexplained": "Unexplained"}
LEFT_OVER = "Left over"  # what is unexplained, once a person has settled some of it


@dataclass(frozen=True, slots=True)
class PartUse:
    """Use of one part of the metered total in the month.

    ``part`` is "indoor", "zone:<code>", "other" or "unexplained"; the parts' values sum to the metered total.
    ``name`` is the zone's, or that of PART_NAMES, LEFT_OVER for what was settled in part.
    """

    part: str
    name: str
    volume: Figure
    cost: Figure | None = None


@dataclass(frozen=True, slots=True)
class ZoneMonth:
    """One zone's month.

    Attributes:
        zone, name: code and name. ``hand`` for a hose outlet.
        need: litres its plants needed (reference ET x factor x area, all plantings).
        effective_rain: litres of that need met by rain.
        applied: litres the system and logged watering gave.
        ran_days, missed_days, unvouched_days: known to have run, known not to have, nobody can say.
        stress_days: days on which any planting was short of water.
        percolated: litres drained below the roots, of rain and of water given.
        saved: litres against overhead sprinklers, negative when more was applied. Days on which the plants were at
            rest for the winter have nothing to compare: sprinklers would have been off as well.
        sentence: the month in one sentence.
        resting: at rest for the winter on most of its days.
        excess: of the water given, litres that drained below the roots or fell where nothing grows; excess_money: what
            they cost, None without a meter or tariff. ``too_much`` says whether they are (:mod:`core.review.enough`).
        unwritten: watered by hand, its plants needed water, and nobody wrote any down: what it got is not known.
    """

    zone: str
    name: str
    hand: bool
    need: Figure
    effective_rain: Figure
    applied: Figure
    percolated: Figure
    saved: Figure
    ran_days: int
    missed_days: int
    unvouched_days: int
    stress_days: int
    sentence: str
    resting: bool = False
    unwritten: bool = False
    excess: Figure = field(default_factory=lambda: Figure(None, "volume"))
    excess_money: float | None = None

    @property
    def too_much(self) -> bool:
        """Whether it got more than its plants could use."""
        needed, rain = self.need.value, self.effective_rain.value or 0.0
        known = needed is not None and not self.unwritten
        return known and is_too_much(needed or 0.0, rain, self.excess.value or 0.0)


@dataclass(frozen=True, slots=True)
class AskedStay:
    """Guests or a trip that nobody wrote down, behind a meter, with the question in a few words and in full."""

    stay: Stay
    meter: str
    short: str
    words: str


@dataclass(frozen=True, slots=True)
class NextStep:
    """Something to do next: words, the page it is done on ("write", "meter", "plants", "program", "care", "garden",
    "files"), and of the garden the kind of record; ``reading`` is the id of a reading to put right there. What is
    decided on the month's own page has its card there: ``card`` names it, see :func:`card_of`.
    """

    words: str
    page: str
    weight: float = 0.0
    kind: str = ""
    reading: int | None = None
    card: str = ""


USES_CARD = "uses"  # the card that asks about all single uses


def card_of(about: Finding | AskedStay) -> str:
    """The name of the card of a finding, or of guests or a trip nobody wrote down; no two of a month have the same."""
    if isinstance(about, AskedStay):
        return f"stay-{about.meter}-{about.stay.since:%Y%m%d%H}"
    return f"suspect-{about.key.replace('.', '-')}-{about.since:%d%H}"


@dataclass(frozen=True)
class MonthReview:
    """One month.

    Frames (naive local days in ``day``; litres; mm):
        days: day, part, volume_l, kind ("metered" or "modelled": beyond the last reading) - one row per day and
            part, parts as in PartUse.
        intervals: meter, start, end (UTC), metered_l, indoor_l, zones_l, other_l, unexplained_l, sd_l, note - every
            meter interval that touches the month.
        zone_days: day, zone, state ("ran", "missed", "presumed", "due": not yet begun, "paused", "off", "none"),
            evidence ("meter confirms", "meter contradicts", ""), run_minutes, applied_l, need_l, rain_mm, stressed.
        plant_days: day, zone, planting, need_mm, rain_mm, applied_mm, depletion_mm, total_available_mm,
            readily_available_mm, stress_coefficient, percolated_mm.
        weather_days: day, reference_et_mm, method, rain_mm, tmin_c, tmax_c.
    """

    month: str
    first: date
    last: date  # last day of the month, or as_of if earlier
    as_of: datetime
    household: str
    system: System
    currency: str
    time_zone: str
    metered_through: datetime | None
    sentences: tuple[str, ...]  # the month told in plain words; the first is the headline
    used: Figure
    cost: Figure
    saved: Figure
    saved_money: Figure
    unexplained: Figure
    missed: Figure  # days on which some zone is known not to have run
    unvouched: Figure  # further days, none of the missed ones, on which nobody can vouch for some zone
    stress: Figure  # days on which some plant was short, whatever ran
    parts: tuple[PartUse, ...]
    zones: tuple[ZoneMonth, ...]
    zone_names: dict[str, str]  # of all zones in the book, in its order, so that each keeps its shade every month
    findings: tuple[Finding, ...]
    care_due: tuple[DueItem, ...]
    next_steps: tuple[NextStep, ...]
    cannot_know: tuple[str, ...]
    stays: tuple[AskedStay, ...] = ()  # of which a person may say whether guests were there, the most water first
    settled: Mapping[str, float] = field(default_factory=dict)  # litres of what is left over, by verdict
    empty: bool = False  # nothing in the book speaks of this month
    days: pd.DataFrame = field(default_factory=pd.DataFrame)
    intervals: pd.DataFrame = field(default_factory=pd.DataFrame)
    zone_days: pd.DataFrame = field(default_factory=pd.DataFrame)
    plant_days: pd.DataFrame = field(default_factory=pd.DataFrame)
    weather_days: pd.DataFrame = field(default_factory=pd.DataFrame)

    @property
    def left_name(self) -> str:
        """What the part is called that nothing written down explains."""
        return LEFT_OVER if self.settled else PART_NAMES["unexplained"]
