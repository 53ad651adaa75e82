"""Bills, tariffs, and the care a system is due."""

from __future__ import annotations

from datetime import date
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from core.book.kinds.base import Record, labelled
from core.book.kinds.events import Nth
from core.book.kinds.fields import (
    Code,
    MonthDay,
    Name,
    Number,
    Prices,
    SupplyRef,
    TaskRef,
    Text,
    Volume,
    Whole,
    ZoneRef,
)
from core.book.kinds.garden import SINCE, UNTIL, Dated
from core.book.kinds.place import RegisterUnit

Money = Annotated[Number, Field(ge=0)]


class Bill(Record):
    """A water bill."""

    KIND: ClassVar[str] = "bill"
    TITLE: ClassVar[str] = "bill"
    KEY: ClassVar[tuple[str, ...]] = ("supply", "since")
    HELP: ClassVar[str] = "Each bill: its days, volume and amount."

    supply: SupplyRef = labelled("Supply")
    since: date = labelled("First day")
    until: date = labelled("First day of the next bill")
    volume: Volume = labelled("Volume billed")
    amount: Money = labelled("Amount")
    note: Text = labelled("Note", "", "")


class Tariff(Dated):
    """What water costs from a day on."""

    KIND: ClassVar[str] = "tariff"
    TITLE: ClassVar[str] = "tariff"
    KEY: ClassVar[tuple[str, ...]] = ("supply", "since")
    SLOT: ClassVar[tuple[str, ...]] = ("supply",)
    HELP: ClassVar[str] = "Base charge and price steps for each billing period."

    supply: SupplyRef = labelled("Supply")
    since: date = labelled("Since", SINCE)
    until: date | None = labelled("Until", UNTIL, None)
    period_months: Literal["1", "2", "3", "12"] = labelled("Months in a billing period", "", "1")
    first_day: Annotated[Whole, Field(ge=1, le=28)] = labelled("Day of the month a period begins", "", 1)
    unit: RegisterUnit = labelled("Billing unit")
    base: Money = labelled("Base charge each period")
    included: Annotated[Number, Field(ge=0)] = labelled("Units the base charge includes", "", 0.0)
    prices: Prices = labelled(
        "Price of a unit", "to 4: 3.65 / to 10: 5.10 / rest: 6.17, counted after the included units."
    )
    sewer_base: Money = labelled("Sewer base charge", "", 0.0)
    sewer_price: Money = labelled("Sewer price of a unit", "", 0.0)
    sewer_follows: Literal["none", "use", "winter"] = labelled(
        "Sewer charge follows", "use: every unit used; winter: the winter average; none: not at all.", "none"
    )
    rounding: Literal["none", "down", "up"] = labelled("Use is rounded to whole units", "", "none")


class Task(Record):
    """Care that comes round."""

    KIND: ClassVar[str] = "task"
    TITLE: ClassVar[str] = "task"
    KEY: ClassVar[tuple[str, ...]] = ("code",)
    HELP: ClassVar[str] = "Care that comes round: every so many days, or by a day of the year."

    code: Code = labelled("Code")
    name: Name = labelled("Name")
    every_days: Annotated[Whole, Field(ge=1, le=3700)] | None = labelled("Every so many days", "", None)
    due_by: MonthDay = labelled("Or each year by", "Month-day, such as 10-15.", "")
    season_only: Literal["any", "watering"] = labelled("Falls due", "any time, or only while the system waters.", "any")
    caution: Text = labelled("Caution", "", "")
    how: Text = labelled("How", "", "")


class Upkeep(Record):
    """Care that was done."""

    KIND: ClassVar[str] = "upkeep"
    TITLE: ClassVar[str] = "upkeep"
    KEY: ClassVar[tuple[str, ...]] = ("task", "day", "nth")
    HELP: ClassVar[str] = "What was done and when: filter rinsed, batteries changed, line put back."

    task: TaskRef = labelled("Task")
    day: date = labelled("Day")
    nth: Nth = labelled("Which one of that day", "", 1)
    zone: ZoneRef | None = labelled("Zone", "", None)
    cost: Money = labelled("What it cost", "", 0.0)
    note: Text = labelled("Note", "", "")


class ChecklistStep(Record):
    """One step of a shutdown or start-up and what became of it."""

    KIND: ClassVar[str] = "checklist_step"
    TITLE: ClassVar[str] = "checklist step"
    KEY: ClassVar[tuple[str, ...]] = ("season", "year", "step", "subject")
    HELP: ClassVar[str] = "Steps of shutdown and start-up: done, not needed, or skipped and why."

    season: Literal["shutdown", "startup"] = labelled("Season")
    year: Annotated[Whole, Field(ge=1950, le=2200)] = labelled("Year")
    step: Code = labelled("Step")
    subject: Text = labelled("Of what", "A zone or part when the step repeats.", "")
    state: Literal["done", "not_needed", "skipped"] = labelled("State")
    day: date = labelled("Day")
    why: Text = labelled("Why", "Needed when skipped.", "")
