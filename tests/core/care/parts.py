"""An invented garden for the care tests: two valves on a battery timer, a hose outlet, a barrel."""

from __future__ import annotations

from datetime import date

from core.book.kinds import Controller, Home, Measured, Meter, Planting, Supply, Zone
from core.care.installed import Installed

HOME = Home(
    name="Alder house",
    latitude=41.0,
    timezone="America/Denver",
    shutdown_due="10-20",
    startup_due="04-20",
)


def garden(**changes: object) -> Installed:
    """The garden on 1 October 2026, with parts changed as named."""
    parts: dict[str, object] = {
        "day": date(2026, 10, 1),
        "home": HOME,
        "supplies": (
            Supply(
                code="main",
                name="house main",
                backflow="vacuum breaker at the faucet",
                filter="150 mesh at the head",
                drip_pressure=Measured("25", "psi", "pressure"),
            ),
            Supply(code="butt", name="rain barrel", source="barrel", metered=False),
        ),
        "meters": (Meter(code="house", name="street meter", supply="main", unit="gal"),),
        "controllers": (Controller(code="timer", name="faucet timer", power="battery"),),
        "zones": (
            Zone(code="tubs", name="tubs", supply="main", controller="timer"),
            Zone(code="edge", name="edge bed", supply="main", controller="timer"),
            Zone(code="outlet", name="side outlet", supply="main", hand=True),
        ),
        "plantings": (
            Planting(
                zone="edge",
                code="privet",
                since=date(2020, 5, 1),
                name="privet",
                plant_type="shrub",
                canopy=Measured("3", "ft", "length"),
            ),
        ),
    }
    return Installed(**(parts | changes))  # type: ignore[arg-type]
