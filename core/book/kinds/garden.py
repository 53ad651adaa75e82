"""Zones, what grows in them, what waters them and how the controller is set."""

from __future__ import annotations

from datetime import date
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from core.book.kinds.base import Record, labelled
from core.book.kinds.fields import (
    Area,
    Code,
    ControllerRef,
    Days,
    Flow,
    Length,
    LineFlow,
    Name,
    Number,
    PlantingShares,
    Pressure,
    StartTimes,
    SupplyRef,
    Text,
    Volume,
    Whole,
    YesNo,
    ZoneRef,
)

Factor = Annotated[Number, Field(ge=0, le=2)]
SINCE = "The first day it holds."
WIDEST_M = {"tree": 15.0, "other": 6.0}  # of one plant; more is asked about; common practice, no source
# and plants by water use
MAY_BE_TREES = ("tree", "vine", "apple-pear", "stone-fruit", "citrus", "olive", "desert-adapted")
POINTS = ("button", "inline", "mister")  # devices that give a few litres an hour at a point
# of one; drip emitters give 1 to 24 and adjustable ones to about 100; common practice, no source
FASTEST_POINT_LPH = 100.0
UNTIL = "The first day it no longer holds; empty while it holds."


class Dated(Record):
    """A record that holds from ``since`` up to but not including ``until``."""

    since: date
    until: date | None

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.until is not None and self.until <= self.since:
            raise ValueError("the last day must come after the first")
        return self


class Zone(Record):
    """What one valve waters, or an outlet left for the hose."""

    KIND: ClassVar[str] = "zone"
    TITLE: ClassVar[str] = "zone"
    KEY: ClassVar[tuple[str, ...]] = ("code",)
    HELP: ClassVar[str] = "Each valve, and the outlet left for the hose."

    code: Code = labelled("Code", "Short, never changes: tubs, hedge.")
    name: Name = labelled("Name")
    supply: SupplyRef = labelled("Supply")
    controller: ControllerRef | None = labelled("Controller", "Empty for a hand valve.", None)
    hand: YesNo = labelled("Watered by hand only", "The hose outlet.", False)
    flow: Flow | None = labelled("Flow by a test", "When a bucket or the meter told; else the emitters add up.", None)
    since: date | None = labelled("In use since", "", None)
    until: date | None = labelled("No longer in use from", "", None)
    note: Text = labelled("Note", "", "")


class Planting(Dated):
    """Plants of one sort in one place, watered by a zone."""

    KIND: ClassVar[str] = "planting"
    TITLE: ClassVar[str] = "planting"
    KEY: ClassVar[tuple[str, ...]] = ("zone", "code", "since")
    SLOT: ClassVar[tuple[str, ...]] = ("zone", "code")
    HELP: ClassVar[str] = "What grows where: plant type, how many, how wide, in what soil."

    zone: ZoneRef = labelled("Zone")
    code: Code = labelled("Code")
    since: date = labelled("Since", SINCE)
    until: date | None = labelled("Until", UNTIL, None)
    name: Name = labelled("Name")
    plant_type: Code = labelled("Plant type", "A type of the published tables: shrub, tree, perennial, tomato.")
    count: Annotated[Whole, Field(ge=0, le=100000)] = labelled("How many plants", "", 1)
    canopy: Length | None = labelled("Width across one plant", "", None)
    bed: Area | None = labelled("Area of the bed", "", None)
    in_pots: YesNo = labelled("Growing in pots", "", False)
    pot: Volume | None = labelled("Soil in one pot", "", None)
    pot_width: Length | None = labelled("Width across one pot", "", None)
    soil: Code = labelled("Soil", "A texture of the published tables: loam, sandy-loam, potting-mix.", "loam")
    root_depth: Length | None = labelled("Depth of the roots", "Empty: the table's for the plant type.", None)
    factor: Factor | None = labelled("Plant factor of your own", "Instead of the table's.", None)
    factor_reason: Text = labelled("Why", "", "")
    species_factor: Factor | None = labelled("Species factor", "For the landscape coefficient method.", None)
    density_factor: Factor | None = labelled("Density factor", "", None)
    microclimate_factor: Factor | None = labelled("Microclimate factor", "", None)
    planted_on: date | None = labelled("Planted on", "", None)
    mulched: YesNo = labelled("Mulched", "", False)
    under_roof: YesNo = labelled("Under a roof", "Rain does not reach it.", False)

    @model_validator(mode="after")
    def _one_method(self) -> Self:
        parts = (self.species_factor, self.density_factor, self.microclimate_factor)
        if self.factor is not None and any(p is not None for p in parts):
            raise ValueError("a plant factor stands alone; it is not mixed with the factors of the other method")
        if any(p is not None for p in parts) and self.species_factor is None:
            raise ValueError("density and microclimate factors need a species factor")
        if self.canopy is None and self.bed is None and self.pot_width is None:
            raise ValueError("a width of the plant, of the pot or an area of the bed is needed")
        return self

    @property
    def very_wide(self) -> bool:
        """Whether one plant is wider than is to be believed unasked: inches where feet were asked, for one."""
        tree = self.plant_type in MAY_BE_TREES or self.plant_type.endswith("-water")
        return self.canopy is not None and self.canopy.base > WIDEST_M["tree" if tree else "other"]


class FactorMonth(Record):
    """The plant factor of a planting in one month of the year, set by hand and for a reason."""

    KIND: ClassVar[str] = "factor_month"
    TITLE: ClassVar[str] = "plant factor of a month"
    KEY: ClassVar[tuple[str, ...]] = ("zone", "planting", "month")
    HELP: ClassVar[str] = "A plant factor of your own for one month of every year. It wins over the tables."

    zone: ZoneRef = labelled("Zone")
    planting: Code = labelled("Planting", "Its code within the zone.")
    month: Annotated[Whole, Field(ge=1, le=12)] = labelled("Month", "1 to 12.")
    factor: Factor = labelled("Plant factor", "Need over reference ET: 0.5 for most shrubs.")
    reason: Name = labelled("Why", "Leafs out late; shaded since the fence; what you saw.")


class EmitterGroup(Dated):
    """Emitters of one sort in a zone and which plantings they water."""

    KIND: ClassVar[str] = "emitter_group"
    TITLE: ClassVar[str] = "emitter group"
    KEY: ClassVar[tuple[str, ...]] = ("zone", "code", "since")
    SLOT: ClassVar[tuple[str, ...]] = ("zone", "code")
    HELP: ClassVar[str] = "Emitters, soaker tubing, misters: count with flow each, or length with flow per length."

    zone: ZoneRef = labelled("Zone")
    code: Code = labelled("Code")
    since: date = labelled("Since", SINCE)
    until: date | None = labelled("Until", UNTIL, None)
    device: Literal["button", "inline", "soaker", "mister", "sprayer", "bubbler", "other"] = labelled(
        "Device", "", "button"
    )
    count: Annotated[Whole, Field(ge=0)] = labelled("How many", "", 0)
    flow_each: Flow | None = labelled("Rated flow of one", "", None)
    length: Length | None = labelled("Length of tubing", "", None)
    flow_along: LineFlow | None = labelled("Rated flow per length", "", None)
    rated_pressure: Pressure | None = labelled("Pressure the rating holds at", "", None)
    exponent: Annotated[Number, Field(ge=0, le=1)] = labelled(
        "Exponent", "0 pressure compensating, 0.5 turbulent, 1 laminar.", 0.0
    )
    waters: PlantingShares = labelled("Plantings it waters", "tubs, or tubs:3 herbs:1.")

    @model_validator(mode="after")
    def _flow_known(self) -> Self:
        by_count = self.count > 0 and self.flow_each is not None
        by_length = self.length is not None and self.flow_along is not None
        if by_count is by_length:
            raise ValueError("either a count with the flow of one, or a length with the flow per length, is needed")
        return self

    @property
    def very_fast(self) -> bool:
        """Whether one emitter gives more than is to be believed unasked: a flow a minute where an hour was asked."""
        return self.device in POINTS and self.flow_each is not None and self.flow_each.base > FASTEST_POINT_LPH


class Program(Dated):
    """How the controller is set for a zone. A zone may have several, told apart by their label."""

    KIND: ClassVar[str] = "program"
    TITLE: ClassVar[str] = "program"
    KEY: ClassVar[tuple[str, ...]] = ("zone", "label", "since")
    SLOT: ClassVar[tuple[str, ...]] = ("zone", "label")
    HELP: ClassVar[str] = "Days, start times and minutes of each zone, from the day they were set."

    zone: ZoneRef = labelled("Zone")
    label: Code = labelled("Label", "", "a")
    since: date = labelled("Since", SINCE)
    until: date | None = labelled("Until", UNTIL, None)
    days: Days = labelled("Days", "daily, mon wed fri, odd, even, every 3 from 2026-05-01.")
    starts: StartTimes = labelled("Start times", "On the controller's clock: 05:00 20:30.")
    minutes: Annotated[Number, Field(gt=0, le=1440)] = labelled("Minutes each start")
    percent: Annotated[Number, Field(ge=0, le=400)] = labelled("Seasonal percent", "", 100.0)


class Pause(Record):
    """A time the controller is off on purpose."""

    KIND: ClassVar[str] = "pause"
    TITLE: ClassVar[str] = "pause"
    KEY: ClassVar[tuple[str, ...]] = ("scope", "since")
    SLOT: ClassVar[tuple[str, ...]] = ("scope",)
    HELP: ClassVar[str] = "Winter, rain hold, away, repair: no runs are expected. Scope is a zone's code or all."

    scope: Code = labelled("Which zone", "A zone's code, or all.", "all")
    since: date = labelled("First day off")
    until: date | None = labelled("First day on again", "Empty while it is off.", None)
    reason: Literal["winter", "rain", "away", "repair", "other"] = labelled("Why", "", "other")
    note: Text = labelled("Note", "", "")

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.until is not None and self.until <= self.since:
            raise ValueError("the first day on again must come after the first day off")
        return self
