"""A home: a house with people, a garden, and what they wrote down. A seed stands for one home."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.bench.routines.absences import Written, draw_presence
from tests.bench.routines.appliances import Outdoors, draw_appliances, draw_outdoors
from tests.bench.routines.clock import Clock, Floats, draw_clock
from tests.bench.routines.garden import Garden, draw_garden
from tests.bench.routines.house import House, draw_fixtures
from tests.bench.routines.people import draw_family, draw_person
from tests.bench.routines.pouring import Draws


@dataclass(frozen=True)
class Home:
    """Everything true of a home with nothing wrong, and what its book says.

    Attributes:
        people, drinks, written: of the book: who lives there, what draws water by itself, who was there on which days.
        indoor: gallons in each minute without the garden's runs; a hose counts as indoors.
        watering: gallons in each minute of the garden's runs. outdoors: uses of the hose.
    """

    seed: int
    clock: Clock
    people: int
    drinks: str
    written: list[Written]
    indoor: Floats
    garden: Garden
    watering: Floats
    outdoors: list[Outdoors]

    @property
    def flow(self) -> Floats:
        """Gallons in each minute through the meter."""
        return self.indoor + self.watering


def build(seed: int) -> Home:
    """The home of a seed. Every part draws from the one generator: another order is another home."""
    rng = np.random.default_rng([seed, 77])
    clock = draw_clock(rng)
    family = draw_family(rng)
    fixtures = draw_fixtures(rng, len(family))
    presence = draw_presence(rng, clock, family)
    visitors = [draw_person(rng, "home") for _ in range(4)]
    draws = Draws(clock)
    used = House(rng, fixtures, presence, draws).live(family, visitors)
    drinks, humidifier = draw_appliances(rng, presence, draws, used)
    outdoors = draw_outdoors(rng, presence, draws)
    garden = draw_garden(rng, clock)
    return Home(
        seed=seed,
        clock=clock,
        people=len(family),
        drinks=drinks,
        written=presence.book(),
        indoor=draws.flow() + humidifier,
        garden=garden,
        watering=garden.flow(clock.minutes),
        outdoors=outdoors,
    )
