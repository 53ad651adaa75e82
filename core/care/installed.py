"""What is installed on a day: the parts that tasks and checklists are fitted to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from core.book.kinds import Controller, Home, Meter, Planting, Supply, Zone

Part = Literal[
    "garden",  # once for everything
    "supply",  # each supply that feeds valves
    "well",
    "barrel",
    "manifold",  # each supply with two valves or more
    "backflow",
    "filter",
    "regulator",
    "controller",
    "battery",
    "mains",
    "zone",  # each valve
    "hose",  # each outlet left for the hose
    "meter",
    "woody",  # once, when trees, shrubs or new plants stand in the ground
]

# Plant types whose names hold one of these words keep leaves or young roots that a dry winter can kill.
_WOODY = ("evergreen", "conifer", "tree", "shrub", "hedge", "fruit", "citrus", "vine", "rose", "woody")
_NEW_DAYS = 365


@dataclass(frozen=True)
class Installed:
    """The parts in use on a day."""

    day: date
    home: Home
    supplies: tuple[Supply, ...] = ()
    meters: tuple[Meter, ...] = ()
    controllers: tuple[Controller, ...] = ()
    zones: tuple[Zone, ...] = ()
    plantings: tuple[Planting, ...] = ()

    @property
    def valves(self) -> tuple[Zone, ...]:
        """Zones with a valve, so not the hose outlets."""
        return tuple(z for z in self.zones if not z.hand)

    def parts(self, part: Part) -> list[tuple[str, str]]:
        """Code and name of each installed part of a sort; ``("", name of the garden)`` for "garden" and "woody"."""
        fed = {z.supply for z in self.valves}
        valves_of = {code: sum(z.supply == code for z in self.valves) for code in fed}
        drip = [s for s in self.supplies if s.code in fed]
        everything = [("", self.home.name)]
        found: dict[Part, Iterable[Supply | Controller | Zone | Meter]] = {
            "supply": drip,
            "well": (s for s in self.supplies if s.source == "well"),
            "barrel": (s for s in self.supplies if s.source == "barrel"),
            "manifold": (s for s in drip if valves_of[s.code] > 1),
            "backflow": (s for s in drip if s.backflow),
            "filter": (s for s in drip if s.filter),
            "regulator": (s for s in drip if s.drip_pressure is not None),
            "controller": self.controllers,
            "battery": (c for c in self.controllers if c.power in ("battery", "solar")),
            "mains": (c for c in self.controllers if c.power == "mains"),
            "zone": self.valves,
            "hose": (z for z in self.zones if z.hand),
            "meter": self.meters,
        }
        if part == "garden":
            return everything
        if part == "woody":
            return everything if any(self._thirsty_in_winter(p) for p in self.plantings) else []
        return [(item.code, item.name) for item in found[part]]

    def _thirsty_in_winter(self, planting: Planting) -> bool:
        if planting.in_pots:
            return False
        new = planting.planted_on is not None and self.day - planting.planted_on < timedelta(days=_NEW_DAYS)
        return new or any(word in planting.plant_type for word in _WOODY)


def holds_on(since: date | None, until: date | None, day: date) -> bool:
    """Whether something in use from ``since`` up to but not including ``until`` is in use on ``day``."""
    return (since is None or since <= day) and (until is None or day < until)
