"""Every kind of record the book can hold, by name, parents before children.

The order is the order of import and export: a record only refers to kinds before it.
"""

from __future__ import annotations

from core.book.kinds.base import FieldInfo, Record, fields_of
from core.book.kinds.events import (
    FINDING_KINDS,
    CatchTest,
    Decision,
    FlowTest,
    Household,
    LeakTest,
    Normal,
    OtherUse,
    Rain,
    Run,
    Weather,
)
from core.book.kinds.fields import Cell, Measured
from core.book.kinds.garden import EmitterGroup, FactorMonth, Pause, Planting, Program, Zone
from core.book.kinds.money_care import Bill, ChecklistStep, Tariff, Task, Upkeep
from core.book.kinds.place import ClockCheck, Controller, Home, Meter, MeteredUse, MeterReading, Supply
from core.book.kinds.told import Told

KINDS: dict[str, type[Record]] = {
    kind.KIND: kind
    for kind in (
        Home,
        Supply,
        Meter,
        Controller,
        ClockCheck,
        Zone,
        Planting,
        FactorMonth,
        EmitterGroup,
        Program,
        Pause,
        MeterReading,
        MeteredUse,
        Run,
        Rain,
        Weather,
        Normal,
        OtherUse,
        Household,
        FlowTest,
        CatchTest,
        LeakTest,
        Tariff,
        Bill,
        Task,
        Upkeep,
        ChecklistStep,
        Decision,
        Told,
    )
}

__all__ = [
    "FINDING_KINDS",
    "KINDS",
    "Bill",
    "CatchTest",
    "Cell",
    "ChecklistStep",
    "ClockCheck",
    "Controller",
    "Decision",
    "EmitterGroup",
    "FactorMonth",
    "FieldInfo",
    "FlowTest",
    "Home",
    "Household",
    "LeakTest",
    "Measured",
    "Meter",
    "MeterReading",
    "MeteredUse",
    "Normal",
    "OtherUse",
    "Pause",
    "Planting",
    "Program",
    "Rain",
    "Record",
    "Run",
    "Supply",
    "Tariff",
    "Task",
    "Told",
    "Upkeep",
    "Weather",
    "Zone",
    "fields_of",
]
