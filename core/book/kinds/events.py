"""What happened: runs, rain, weather, other use, who was at home, and tests."""

from __future__ import annotations

from datetime import date
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from core.book.kinds.base import Record, labelled
from core.book.kinds.fields import (
    Code,
    Depth,
    Duration,
    Length,
    MeterRef,
    Number,
    Pressure,
    Radiation,
    Register,
    Speed,
    SupplyRef,
    Temperature,
    Text,
    Volume,
    Whole,
    YesNo,
    ZoneRef,
)
from core.days import Moment

Nth = Annotated[Whole, Field(ge=1, le=99)]
Percent = Annotated[Number, Field(ge=0, le=100)]

# More than most gardens ever see in a day. The storm of 24 hours met once in 100 years is 5 in (127 mm) on Colorado's
# Front Range and 6.5 in (165 mm) in the state's southeast, by NOAA's precipitation-frequency atlas as meeting notes in
# the archive of the Colorado Water Conservation Board tell it. On the Gulf coast such days come oftener: asked as well.
MUCH_RAIN_MM_DAY = 100.0
# The greatest falls on record grow with this power of their length (WMO, greatest known point rainfalls; from memory).
RAIN_GROWS = 0.475


class Run(Record):
    """A run somebody vouches for: the zone ran for so many minutes, or it did not run."""

    KIND: ClassVar[str] = "run"
    TITLE: ClassVar[str] = "run"
    KEY: ClassVar[tuple[str, ...]] = ("zone", "at", "nth")
    HELP: ClassVar[str] = "A run you know of, or know did not happen. A day alone stands for all runs of that day."

    zone: ZoneRef = labelled("Zone")
    at: Moment = labelled("Start, or the day")
    nth: Nth = labelled("Which one of that time", "", 1)
    ran: YesNo = labelled("Did it run", "", True)
    duration: Duration | None = labelled("How long", "Needed when it ran.", None)
    why: Text = labelled("Why", "", "")

    @model_validator(mode="after")
    def _minutes(self) -> Self:
        if self.ran and self.duration is None:
            raise ValueError("a run that happened needs its duration")
        return self


class Rain(Record):
    """Rain caught by a gauge between two times."""

    KIND: ClassVar[str] = "rain"
    TITLE: ClassVar[str] = "rain"
    KEY: ClassVar[tuple[str, ...]] = ("gauge", "start", "end")
    HELP: ClassVar[str] = "Depth in the gauge from one emptying to the next. A trace is a depth of 0 with trace yes."

    gauge: Code = labelled("Gauge", "", "yard")
    start: Moment = labelled("From")
    end: Moment = labelled("To")
    rain: Depth = labelled("Rain")
    trace: YesNo = labelled("Only a trace", "", False)

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if self.end.utc <= self.start.utc:
            raise ValueError("the end must come after the start")
        if self.rain.base < 0:
            raise ValueError("rain is never below 0")
        return self

    @property
    def very_much(self) -> bool:
        """Whether it is more than is to be believed unasked: so much for a day, for each further day less."""
        days = max((self.end.utc - self.start.utc).total_seconds() / 86_400, 1.0)
        return self.rain.base > MUCH_RAIN_MM_DAY * float(days**RAIN_GROWS)


class Weather(Record):
    """One day at a station: lowest and highest temperature and whatever else it measures."""

    KIND: ClassVar[str] = "weather"
    TITLE: ClassVar[str] = "weather day"
    KEY: ClassVar[tuple[str, ...]] = ("station", "day")
    HELP: ClassVar[str] = "Daily weather from a file. Lowest and highest temperature are enough; more makes it better."

    station: Code = labelled("Station", "", "home")
    day: date = labelled("Day")
    tmin: Temperature | None = labelled("Lowest temperature", "", None)
    tmax: Temperature | None = labelled("Highest temperature", "", None)
    dewpoint: Temperature | None = labelled("Dew point", "", None)
    humidity_min: Percent | None = labelled("Lowest humidity", "Percent.", None)
    humidity_max: Percent | None = labelled("Highest humidity", "Percent.", None)
    wind: Speed | None = labelled("Mean wind", "", None)
    wind_height: Length | None = labelled("Height of the wind gauge", "", None)
    solar: Radiation | None = labelled("Solar radiation", "", None)
    sunshine_hours: Annotated[Number, Field(ge=0, le=24)] | None = labelled("Hours of sunshine", "", None)
    reference_et: Depth | None = labelled("Reference ET the station gives", "For grass.", None)

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.tmin is not None and self.tmax is not None and self.tmin.base > self.tmax.base:
            raise ValueError("the lowest temperature is above the highest")
        return self


class Normal(Record):
    """What a month is usually like."""

    KIND: ClassVar[str] = "normal"
    TITLE: ClassVar[str] = "monthly normal"
    KEY: ClassVar[tuple[str, ...]] = ("month",)
    HELP: ClassVar[str] = "Twelve rows: usual lowest and highest temperature and rain of each month."

    month: Annotated[Whole, Field(ge=1, le=12)] = labelled("Month", "1 to 12.")
    tmin: Temperature | None = labelled("Usual lowest temperature", "Mean of the days.", None)
    tmax: Temperature | None = labelled("Usual highest temperature", "Mean of the days.", None)
    rain: Depth | None = labelled("Usual rain", "In the whole month.", None)
    reference_et: Depth | None = labelled("Usual reference ET", "In the whole month.", None)


class OtherUse(Record):
    """Water used for something else than the house or a program: a pool, a hose, a car."""

    KIND: ClassVar[str] = "other_use"
    TITLE: ClassVar[str] = "other use"
    KEY: ClassVar[tuple[str, ...]] = ("start", "nth")
    HELP: ClassVar[str] = "Hose, pool, washing down: once, over a while, or repeating."

    start: Moment = labelled("When it began")
    nth: Nth = labelled("Which one of that time", "", 1)
    end: Moment | None = labelled("When it ended", "Empty: within the hour.", None)
    what: Text = labelled("What for")
    volume: Volume = labelled("How much", "In all, or each time when it repeats.")
    spread: Percent = labelled("How unsure, in percent", "Two thirds of the time it is within this.", 20.0)
    meter: MeterRef | None = labelled("Through which meter", "Empty: not metered, such as a barrel.", None)
    zone: ZoneRef | None = labelled("Which zone it watered", "", None)
    planting: Code | None = labelled("Which planting it watered", "", None)
    every_days: Annotated[Whole, Field(ge=1, le=366)] | None = labelled(
        "Repeats every so many days", "Until the end.", None
    )

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.end is not None and self.end.utc <= self.start.utc:
            raise ValueError("the end must come after the start")
        if self.volume.base < 0:
            raise ValueError("a volume is never below 0")
        return self


class Household(Record):
    """Who was at home from a day on, when it differs from the usual."""

    KIND: ClassVar[str] = "household"
    TITLE: ClassVar[str] = "household change"
    KEY: ClassVar[tuple[str, ...]] = ("since", "nth")
    HELP: ClassVar[str] = "Guests and trips: how many people slept at home from one day to another."

    since: date = labelled("First day")
    nth: Nth = labelled("Which one of that day", "", 1)
    until: date = labelled("First day as usual again")
    people: Annotated[Whole, Field(ge=0, le=50)] = labelled("People at home")
    reason: Literal["guests", "away", "other"] = labelled("Why", "", "other")
    note: Text = labelled("Note", "", "")

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.until <= self.since:
            raise ValueError("the last day must come after the first")
        return self


class FlowTest(Record):
    """A timed bucket or a timed meter: how fast water came."""

    KIND: ClassVar[str] = "flow_test"
    TITLE: ClassVar[str] = "flow test"
    KEY: ClassVar[tuple[str, ...]] = ("at", "nth")
    HELP: ClassVar[str] = "Volume caught in a time, of a zone or of the whole supply."

    at: Moment = labelled("When")
    nth: Nth = labelled("Which one of that time", "", 1)
    zone: ZoneRef | None = labelled("Zone", "Empty: the supply itself.", None)
    supply: SupplyRef | None = labelled("Supply", "", None)
    volume: Volume = labelled("Volume")
    duration: Duration = labelled("In what time")
    pressure: Pressure | None = labelled("Pressure at the time", "", None)


class CatchTest(Record):
    """Cups under emitters: how even a zone is."""

    KIND: ClassVar[str] = "catch_test"
    TITLE: ClassVar[str] = "catch test"
    KEY: ClassVar[tuple[str, ...]] = ("zone", "at")
    HELP: ClassVar[str] = "Millilitres caught under several emitters in the same time, in one cell: 47 42 45 24."

    zone: ZoneRef = labelled("Zone")
    at: Moment = labelled("When")
    caught_ml: Text = labelled("Millilitres in each cup", "Space between.")
    duration: Duration = labelled("In what time")


class LeakTest(Record):
    """One step of a leak hunt: all off, read, wait, read."""

    KIND: ClassVar[str] = "leak_test"
    TITLE: ClassVar[str] = "leak test"
    KEY: ClassVar[tuple[str, ...]] = ("meter", "at")
    HELP: ClassVar[str] = "Two readings with nothing running, and what was shut."

    meter: MeterRef = labelled("Meter")
    at: Moment = labelled("Start")
    duration: Duration = labelled("How long you waited")
    before: Annotated[Register, Field(ge=0)] = labelled("Register before")
    after: Annotated[Register, Field(ge=0)] = labelled("Register after")
    shut: Literal["nothing", "house", "manifold", "zone"] = labelled("What was shut", "", "nothing")
    zone: ZoneRef | None = labelled("Which zone was on or shut", "", None)
    note: Text = labelled("Note", "", "")


FINDING_KINDS = (
    "steady",
    "stuck_open",
    "more_than_set",
    "less_than_set",
    "not_delivered",
    "another_schedule",
    "one_off",
    "misread",
    "two_meters",
    "after_shutdown",
)
"""Codes of what the meter's account may find, as decisions name them; a test holds them to the account's own."""


class Decision(Record):
    """What you decided about something Rillbook found; it holds for findings of the kind that overlap the days."""

    KIND: ClassVar[str] = "decision"
    TITLE: ClassVar[str] = "decision"
    KEY: ClassVar[tuple[str, ...]] = ("finding", "meter", "zone", "since", "decided_at")
    HELP: ClassVar[str] = "Cause found, harmless, repaired on a day, or ask again."

    finding: Code = labelled("Kind of finding")
    meter: MeterRef | None = labelled("Meter", "", None)
    zone: ZoneRef | None = labelled("Zone", "", None)
    since: date = labelled("From day")
    until: date | None = labelled("To day", "", None)
    verdict: Literal["explained", "harmless", "repaired", "ask_again"] = labelled("What you decided")
    repaired_on: date | None = labelled("Repaired on", "", None)
    decided_at: Moment = labelled("Decided at")
    note: Text = labelled("Note", "", "")
    cause: Code | None = labelled("What it was", "A kind of finding, or other: what the note says.", None)
    cause_zone: ZoneRef | None = labelled("At which zone it was", "", None)
