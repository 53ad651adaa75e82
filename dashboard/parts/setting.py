"""The surroundings of a book that forms need: its clock, its units, its codes and names, the published tables."""

from __future__ import annotations

from core.book.kinds import Controller, Meter, Record, Supply, Task, Zone
from core.book.store import Book
from core.units import volume_symbol
from core.water.tables import PLANT_TYPES, SOILS
from dashboard import data
from dashboard.parts.fields import Setting

REFERRED: tuple[type[Record], ...] = (Supply, Meter, Controller, Zone, Task)


def setting_of(book: Book) -> Setting:
    """The setting of forms that write into this book."""
    meters = [stored.record for stored in book.records(Meter)]
    return Setting(
        zone=book.zone_info,
        now=data.present().astimezone(book.zone_info),
        system=data.system(book.home()),
        refs={kind.KIND: data.names(book, kind) for kind in REFERRED}
        | {
            "home": {"currency": book.home().currency},
            "meter_step": {meter.code: f"{meter.resolution:f}" for meter in meters},
            "meter_unit": {meter.code: volume_symbol(meter.unit) for meter in meters},
        },
        options={
            "scope": {"all": "all zones", **data.names(book, Zone)},
            "plant_type": {code: row.name for code, row in sorted(PLANT_TYPES.items(), key=lambda p: p[1].name)},
            "soil": {code: row.name for code, row in SOILS.items()},
        },
    )
