"""Small invented gardens for the tests of plants and programs, written with the book's own records."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

from core.book.kinds import (
    Controller,
    EmitterGroup,
    Home,
    Measured,
    Meter,
    MeterReading,
    Normal,
    Planting,
    Program,
    Rain,
    Record,
    Run,
    Supply,
    Tariff,
    Weather,
    Zone,
)
from core.book.store import Book
from core.days import parse_moment

GAL = 3.785411784  # litres in a US gallon: 231 cubic inches (NIST Handbook 44)
HOME: dict[str, Any] = {"name": "Elder lane", "latitude": 40.0, "timezone": "America/Denver", "display": "metric"}


def measure(typed: float | str, unit: str, quantity: str) -> Measured:
    return Measured(str(typed), unit, quantity)


def mm(depth: float) -> Measured:
    return measure(depth, "mm", "depth")


def celsius(value: float) -> Measured:
    return measure(value, "c", "temperature")


def begin(folder: Path, *records: Record, **home: Any) -> Book:
    """A book of a home with a street main, a controller and what else is given."""
    book = Book.create(folder / "g.rillbook", Home(**(HOME | home)))
    write(
        book, Supply(code="street", name="Street"), Controller(code="box", name="Box", day_choice="weekdays, every-n")
    )
    write(book, *records)
    return book


def write(book: Book, *records: Record) -> None:
    with book.change("wrote") as change:
        for record in records:
            change.add(record)


def zone(code: str = "bed", **more: Any) -> Zone:
    return Zone(**({"code": code, "name": code.title(), "supply": "street", "controller": "box"} | more))


def shrubs(zone_code: str = "bed", code: str = "shrubs", since: date = date(2026, 5, 1), **more: Any) -> Planting:
    """Ten square metres of shrubs in loam (factor 0.5 by the table)."""
    fields: dict[str, Any] = {
        "zone": zone_code, "code": code, "since": since, "name": code.title(), "plant_type": "shrub",
        "bed": measure(10, "m2", "area"),
    }  # fmt: skip
    return Planting(**(fields | more))


def pot(zone_code: str = "bed", code: str = "pot", since: date = date(2026, 5, 1), **more: Any) -> Planting:
    """One pot of two litres with a small annual in it, 0.25 m across."""
    fields: dict[str, Any] = {
        "zone": zone_code, "code": code, "since": since, "name": code.title(), "plant_type": "annual-flowers",
        "count": 1, "canopy": measure("0.25", "m", "length"), "in_pots": True, "pot": measure(2, "l", "volume"),
        "pot_width": measure("0.15", "m", "length"), "soil": "potting-mix",
    }  # fmt: skip
    return Planting(**(fields | more))


def drip(
    zone_code: str = "bed", lph: float = 60.0, waters: str = "shrubs", code: str = "drip", **more: Any
) -> EmitterGroup:
    """One emitter group that gives ``lph`` litres an hour in all."""
    fields: dict[str, Any] = {
        "zone": zone_code, "code": code, "since": date(2026, 5, 1), "device": "button", "count": 1,
        "flow_each": measure(lph, "lph", "flow"), "waters": waters,
    }  # fmt: skip
    return EmitterGroup(**(fields | more))


def program(zone_code: str = "bed", days: str = "mon thu", minutes: float = 30, **more: Any) -> Program:
    fields: dict[str, Any] = {
        "zone": zone_code, "label": "a", "since": date(2026, 5, 1), "days": days, "starts": "05:00", "minutes": minutes,
    }  # fmt: skip
    return Program(**(fields | more))


def normals(reference_et_mm: float = 186.0, rain_mm: float = 0.0) -> list[Record]:
    """Twelve months alike: 186 mm is 6 mm a day in months of 31 days."""
    return [Normal(month=m, reference_et=mm(reference_et_mm), rain=mm(rain_mm)) for m in range(1, 13)]


def weather(first: date, last: date, reference_et_mm: float = 6.0, **more: Any) -> list[Record]:
    """A station that gives the same reference ET every day."""
    return [
        Weather(station="home", day=first + timedelta(days=n), reference_et=mm(reference_et_mm), **more)
        for n in range((last - first).days + 1)
    ]


def rain(book: Book, day: date, depth_mm: float) -> Rain:
    """Rain from midnight to midnight of one day."""
    start = parse_moment(f"{day} 00:00", book.zone_info)
    end = parse_moment(f"{day + timedelta(days=1)} 00:00", book.zone_info)
    return Rain(start=start, end=end, rain=mm(depth_mm))


def did_not_run(book: Book, day: date, zone_code: str = "bed") -> Run:
    return Run(zone=zone_code, at=parse_moment(str(day), book.zone_info), ran=False, why="battery")


def metered(book: Book, first: date, days: int, litres_a_day: float = 1000.0, price: str = "10") -> None:
    """A meter that counts the same every day, and a tariff of one price a cubic metre."""
    write(
        book,
        Meter(code="curb", name="Curb", supply="street", unit="l", digits=9),
        Tariff(supply="street", since=date(2026, 1, 1), unit="m3", base=0, prices=price),
        *(
            MeterReading(
                meter="curb",
                at=parse_moment(f"{first + timedelta(days=n)} 00:00", book.zone_info),
                register_value=str(round(n * litres_a_day)),  # type: ignore[arg-type]
            )
            for n in range(days + 1)
        ),
    )
