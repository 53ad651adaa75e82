"""A sheet to begin with for every record kind: its header and one invented row that itself can be read back."""

from __future__ import annotations

import csv
import io

from core.book.kinds import KINDS, fields_of
from core.exchange.cells import default_header
from core.units import System

Example = dict[str, str | tuple[str, str]]
"""Field name to its cell; where the two differ, the cell of the US and of the metric sheet."""

# An invented garden. Taken together the rows refer to one another and make a book.
EXAMPLES: dict[str, Example] = {
    "home": {
        "code": "home",
        "name": "Maple Row 3",
        "place": ("Fallon", "Ávila"),
        "latitude": ("39.5", "40.7"),
        "longitude": ("-118.8", "-4.7"),
        "elevation": ("3960", "1207"),
        "timezone": ("America/Los_Angeles", "Europe/Madrid"),
        "display": ("us", "metric"),
        "people": "3",
        "currency": ("$", "€"),
        "drinks": "softener",
        "shutdown_due": "10-15",
        "startup_due": "04-20",
    },
    "supply": {
        "code": "street",
        "name": "Street main",
        "source": "main",
        "metered": "yes",
        "static_pressure": ("62", "427"),
        "drip_pressure": ("25", "172"),
        "capacity": ("480", "1817"),
        "backflow": "double check valve in the front box",
        "filter": "150 mesh, by the valves",
    },
    "meter": {
        "code": "curb",
        "name": "Meter at the curb",
        "supply": "street",
        "unit": ("gal", "m3"),
        "digits": ("7", "5"),
        "resolution": ("10", "0.001"),
    },
    "controller": {
        "code": "shed",
        "name": "Shed wall",
        "power": "battery",
        "follows_dst": "yes",
        "max_starts": "4",
        "day_choice": "weekdays, every-n",
        "max_minutes": "240",
        "allowed_hours": "18:00-10:00",
    },
    "clock_check": {"controller": "shed", "at": "2026-05-02 09:15", "offset_minutes": "-12", "put_right": "yes"},
    "zone": {"code": "tubs", "name": "Patio tubs", "supply": "street", "controller": "shed", "hand": "no"},
    "planting": {
        "zone": "tubs",
        "code": "pepper",
        "since": "2026-05-10",
        "name": "Peppers in tubs",
        "plant_type": "tomato",
        "count": "6",
        "canopy": ("1.5", "0.45"),
        "in_pots": "yes",
        "pot": ("15", "57"),
        "pot_width": ("1.4", "0.42"),
        "soil": "potting-mix",
        "planted_on": "2026-05-10",
    },
    "factor_month": {
        "zone": "tubs",
        "planting": "pepper",
        "month": "9",
        "factor": "0.7",
        "reason": "leaves thin out by then",
    },
    "emitter_group": {
        "zone": "tubs",
        "code": "buttons",
        "since": "2026-05-10",
        "device": "button",
        "count": "12",
        "flow_each": ("0.5", "1.9"),
        "rated_pressure": ("20", "138"),
        "exponent": "0",
        "waters": "pepper",
    },
    "program": {
        "zone": "tubs",
        "label": "a",
        "since": "2026-05-10",
        "days": "mon wed fri",
        "starts": "05:30 20:00",
        "minutes": "12",
        "percent": "100",
    },
    "pause": {"scope": "all", "since": "2026-10-15", "reason": "winter", "note": "water off at the valve box"},
    "meter_reading": {
        "meter": "curb",
        "at": "2026-07-14 07:30",
        "register_value": ("0412350", "01560.914"),
        "how": "eye",
    },
    "metered_use": {
        "meter": "curb",
        "start": "2026-07-14 07:00",
        "end": "2026-07-14 08:00",
        "volume": ("14", "53"),
        "estimated": "no",
    },
    "run": {"zone": "tubs", "at": "2026-07-15 05:30", "nth": "1", "ran": "yes", "duration": ("12", "12")},
    "rain": {
        "gauge": "yard",
        "start": "2026-07-20 07:00",
        "end": "2026-07-21 07:00",
        "rain": ("0.35", "8.9"),
        "trace": "no",
    },
    "weather": {"station": "home", "day": "2026-07-20", "tmin": ("58", "14.4"), "tmax": ("93", "33.9")},
    "normal": {"month": "7", "tmin": ("56", "13.3"), "tmax": ("92", "33.3"), "rain": ("0.2", "5")},
    "other_use": {
        "start": "2026-07-04 10:00",
        "nth": "1",
        "end": "2026-07-04 12:00",
        "what": "wading pool",
        "volume": ("180", "680"),
        "spread": "20",
        "meter": "curb",
    },
    "household": {
        "since": "2026-08-01",
        "nth": "1",
        "until": "2026-08-09",
        "people": "0",
        "reason": "away",
        "note": "at the coast",
    },
    "flow_test": {
        "at": "2026-05-11 10:00",
        "nth": "1",
        "zone": "tubs",
        "volume": ("0.5", "1.9"),
        "duration": ("5", "5"),
    },
    "catch_test": {"zone": "tubs", "at": "2026-05-11 11:00", "caught_ml": "47 42 45 24", "duration": ("3", "3")},
    "leak_test": {
        "meter": "curb",
        "at": "2026-09-02 22:00",
        "duration": ("60", "60"),
        "before": ("0431200", "01632.270"),
        "after": ("0431200", "01632.270"),
        "shut": "house",
    },
    "tariff": {
        "supply": "street",
        "since": "2026-01-01",
        "period_months": "1",
        "first_day": "1",
        "unit": ("kgal", "m3"),
        "base": "18.5",
        "included": "0",
        "prices": ("to 6: 3.2 / rest: 4.75", "to 20: 0.85 / rest: 1.25"),
    },
    "bill": {
        "supply": "street",
        "since": "2026-06-01",
        "until": "2026-07-01",
        "volume": ("9000", "34000"),
        "amount": ("51.95", "53"),
    },
    "task": {
        "code": "rinse-filter",
        "name": "Rinse the filter",
        "every_days": "60",
        "season_only": "watering",
        "caution": "Shut the water and let the pressure off first.",
        "how": "Unscrew, rinse the mesh from inside, screw back hand-tight.",
    },
    "upkeep": {"task": "rinse-filter", "day": "2026-06-20", "nth": "1", "cost": "0", "note": "much sand"},
    "checklist_step": {
        "season": "shutdown",
        "year": "2026",
        "step": "close-valve",
        "state": "done",
        "day": "2026-10-15",
    },
    "decision": {
        "finding": "one_off",
        "meter": "curb",
        "since": "2026-07-04",
        "until": "2026-07-05",
        "verdict": "explained",
        "decided_at": "2026-07-06 19:00",
        "note": "that was the wading pool",
    },
    "told": {
        "finding": "steady",
        "meter": "curb",
        "since": "2026-08-30 14:00",
        "told_at": "2026-09-02 07:15",
        "strength": "fair",
        "why": "new",
        "rate": ("1.2", "4.5"),
        "volume": ("78", "295"),
    },
}


def template(kind: str, system: System = "us") -> str:
    """The sheet to begin with: every column of the kind and one example row to write over.

    Args:
        kind: name of the record kind.
        system: which units the measured columns are in, and in what kind of home the example lies; any other unit of
            the quantity may stand in the columns' names.
    """
    cells: dict[str, str] = {}
    for field in fields_of(KINDS[kind]):
        cell = EXAMPLES[kind].get(field.name, "")
        cells[default_header(field, system)] = cell if isinstance(cell, str) else cell[0 if system == "us" else 1]
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerows([cells, cells.values()])
    return out.getvalue()
