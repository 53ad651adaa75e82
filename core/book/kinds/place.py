"""The home, what brings water to it, its meters and its controller."""

from __future__ import annotations

from datetime import date
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, field_validator, model_validator

from core.book.kinds.base import Record, labelled
from core.book.kinds.fields import (
    Code,
    ControllerRef,
    Flow,
    Length,
    Measured,
    MeterRef,
    MonthDay,
    Name,
    Number,
    Pressure,
    Register,
    SupplyRef,
    Text,
    Volume,
    Whole,
    YesNo,
)
from core.book.whole_days import goes_forward
from core.days import Moment, time_zone

RegisterUnit = Literal["gal", "kgal", "ft3", "ccf", "m3", "l", "imp_gal"]


class Home(Record):
    """The one household of the book."""

    KIND: ClassVar[str] = "home"
    TITLE: ClassVar[str] = "home"
    KEY: ClassVar[tuple[str, ...]] = ("code",)
    HELP: ClassVar[str] = "Where the garden is. One row."

    code: Code = labelled("Code", "Always home.", "home")
    name: Name = labelled("Name of the household")
    place: Text = labelled("Place", "Town or area, for your own eyes.", "")
    latitude: Annotated[Number, Field(ge=-90, le=90)] = labelled("Latitude in degrees", "South is negative.")
    longitude: Annotated[Number, Field(ge=-180, le=180)] | None = labelled("Longitude in degrees", "", None)
    elevation: Length = labelled("Elevation", "Height above sea level.", Measured("0", "m", "length"))
    timezone: Text = labelled("Time zone", "An IANA name such as America/Denver.")
    display: Literal["us", "metric"] = labelled("Show units as", "us: gallons and inches. metric: litres and mm.", "us")
    people: Annotated[Whole, Field(ge=0, le=50)] = labelled("People usually at home", "", 2)
    currency: Text = labelled("Currency sign", "", "$")
    drinks: Text = labelled(
        "Appliances that use water by themselves",
        "Any of softener, evaporative cooler, pool auto-fill, fountain auto-fill, humidifier; comma between.",
        "",
    )
    shutdown_due: MonthDay = labelled("Usual last day before hard frost", "Month-day, such as 10-20.", "")
    startup_due: MonthDay = labelled("Usual first day of watering", "Month-day, such as 04-20.", "")

    @field_validator("code")
    @classmethod
    def _only_one(cls, value: str) -> str:
        if value != "home":
            raise ValueError("a book holds one home and its code is home")
        return value

    @field_validator("timezone")
    @classmethod
    def _known_zone(cls, value: str) -> str:
        return str(time_zone(value))


class Supply(Record):
    """A source of water: the public main, a well, a rain barrel."""

    KIND: ClassVar[str] = "supply"
    TITLE: ClassVar[str] = "supply"
    KEY: ClassVar[tuple[str, ...]] = ("code",)
    HELP: ClassVar[str] = "Each source of water."

    code: Code = labelled("Code")
    name: Name = labelled("Name")
    source: Literal["main", "well", "barrel", "other"] = labelled("Source", "", "main")
    metered: YesNo = labelled("Is it metered", "", True)
    static_pressure: Pressure | None = labelled("Static pressure", "With everything off.", None)
    drip_pressure: Pressure | None = labelled("Pressure after the regulator", "", None)
    capacity: Flow | None = labelled("Flow it can give", "A timed bucket at the faucet.", None)
    backflow: Text = labelled("Backflow device", "What is fitted and where.", "")
    filter: Text = labelled("Filter", "Mesh and where.", "")


class Meter(Record):
    """A register that counts water. A replaced register of another unit or size is a meter of its own."""

    KIND: ClassVar[str] = "meter"
    TITLE: ClassVar[str] = "meter"
    KEY: ClassVar[tuple[str, ...]] = ("code",)
    HELP: ClassVar[str] = "Each meter: what its register counts in, how many digits it shows."

    code: Code = labelled("Code")
    name: Name = labelled("Name")
    supply: SupplyRef = labelled("Supply")
    unit: RegisterUnit = labelled("Register counts in", "gal is US; imperial gallons are imp_gal.")
    digits: Annotated[Whole, Field(ge=3, le=12)] = labelled(
        "Digits before the decimal mark", "All of them, painted zeros included.", 7
    )
    resolution: Annotated[Register, Field(gt=0)] = labelled(
        "Smallest step you can read", "In the register's unit: 1, 10, 0.1.", "1", validate_default=True
    )
    counts: Literal["everything", "house", "garden"] = labelled(
        "What flows through it", "A meter for the garden alone says garden.", "everything"
    )
    downstream_of: MeterRef | None = labelled("Behind which other meter", "Empty when it stands alone.", None)
    since: date | None = labelled("In use since", "", None)
    until: date | None = labelled("No longer in use from", "", None)


class Controller(Record):
    """The box that opens the valves, and what it can be set to."""

    KIND: ClassVar[str] = "controller"
    TITLE: ClassVar[str] = "controller"
    KEY: ClassVar[tuple[str, ...]] = ("code",)
    HELP: ClassVar[str] = "The timer: power, clock, limits and the local rule of watering days and hours."

    code: Code = labelled("Code")
    name: Name = labelled("Name")
    power: Literal["battery", "mains", "solar"] = labelled("Power", "", "battery")
    follows_dst: YesNo = labelled(
        "Its clock is set to summer time",
        "By itself or by somebody, each spring and autumn; if nobody does, it shows winter time all the year.",
        True,
    )
    max_starts: Annotated[Whole, Field(ge=1, le=24)] = labelled("Start times it can hold per zone", "", 4)
    day_choice: Text = labelled(
        "Days it can be set to", "Any of weekdays, odd-even, every-n; comma between.", "weekdays"
    )
    max_minutes: Annotated[Whole, Field(ge=1, le=1440)] = labelled("Longest run it can be set to", "Minutes.", 240)
    allowed_days: Text = labelled("Days the local rule allows", "Such as mon wed fri, odd, even; empty: any.", "")
    allowed_hours: Text = labelled("Hours the local rule allows", "Such as 18:00-10:00; empty: any.", "")


class ClockCheck(Record):
    """How far the controller's clock was from the right time when somebody looked."""

    KIND: ClassVar[str] = "clock_check"
    TITLE: ClassVar[str] = "clock check"
    KEY: ClassVar[tuple[str, ...]] = ("controller", "at")
    HELP: ClassVar[str] = "How fast (+) or slow (-) the controller's clock was."

    controller: ControllerRef = labelled("Controller")
    at: Moment = labelled("When you looked")
    offset_minutes: Whole = labelled("Minutes fast", "Slow is negative.")
    put_right: YesNo = labelled("And was set right", "", True)


class MeterReading(Record):
    """A register as read."""

    KIND: ClassVar[str] = "meter_reading"
    TITLE: ClassVar[str] = "meter reading"
    KEY: ClassVar[tuple[str, ...]] = ("meter", "at")
    HELP: ClassVar[str] = "The whole number the register shows, painted zeros included, in the register's own unit."

    meter: MeterRef = labelled("Meter")
    at: Moment = labelled("When")
    register_value: Annotated[Register, Field(ge=0)] = labelled("Register")
    resolution: Annotated[Register, Field(gt=0)] | None = labelled(
        "Smallest step of this reading", "Only when it differs from the meter's.", None
    )
    how: Literal["eye", "bill", "file", "estimated"] = labelled("How it was read", "", "eye")
    first_after_change: YesNo = labelled("First reading after the register was changed", "", False)
    old_final: Annotated[Register, Field(ge=0)] | None = labelled(
        "Last number of the old register", "When it was changed and you know it.", None
    )
    note: Text = labelled("Note", "", "")


class MeteredUse(Record):
    """A volume the meter or the utility gives for a span of time."""

    KIND: ClassVar[str] = "metered_use"
    TITLE: ClassVar[str] = "metered use"
    KEY: ClassVar[tuple[str, ...]] = ("meter", "start", "end")
    HELP: ClassVar[str] = "Volumes by interval, from a utility's file or a bill."

    meter: MeterRef = labelled("Meter")
    start: Moment = labelled("From", "A day alone is from the midnight it begins with.")
    end: Moment = labelled(
        "To", "A day alone is not counted itself: 1 to 2 June is 1 June. The same day as From is that whole day."
    )
    volume: Volume = labelled("Volume")
    estimated: YesNo = labelled("Estimated by the utility", "", False)

    @model_validator(mode="after")
    def _forward(self) -> Self:
        if not goes_forward(self.start, self.end):
            raise ValueError("the end must come after the start")
        return self
