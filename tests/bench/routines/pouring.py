"""Water into a record of gallons a minute."""

from __future__ import annotations

import numpy as np

from tests.bench.routines.clock import Clock, Floats


class Draws:
    """Uses of water, each over whole minutes, kept until they are added up."""

    def __init__(self, clock: Clock) -> None:
        self.clock = clock
        self.since: list[float] = []
        self.lasts: list[float] = []
        self.gallons: list[float] = []

    def add(self, day: int, since_midnight: float, minutes: float, gallons: float) -> None:
        """A use on a day at a minute of it; one of nothing is none."""
        if gallons > 0:
            self.since.append(self.clock.minute(day, since_midnight))
            self.lasts.append(max(minutes, 1.0))
            self.gallons.append(gallons)

    def flow(self) -> Floats:
        """Gallons in each minute of the record; what reaches past its ends is left out."""
        size = self.clock.minutes
        begin = np.floor(np.array(self.since)).astype(int)
        lasts = np.ceil(np.array(self.lasts)).astype(int)
        gallons = np.array(self.gallons)
        inside = (begin >= 0) & (begin + lasts < size)
        begin, lasts, gallons = begin[inside], lasts[inside], gallons[inside]
        change = np.zeros(size + 1)
        np.add.at(change, begin, gallons / lasts)
        np.add.at(change, begin + lasts, -gallons / lasts)
        flow = np.cumsum(change)[:-1]
        result: Floats = np.where(flow > 1e-9, flow, 0.0)  # what is less is left over from adding and taking off
        return result


def pour(flow: Floats, since: float, until: float, gallons_a_minute: float) -> None:
    """Add a constant flow between two minutes, the first and last in proportion."""
    since, until = max(since, 0.0), min(until, float(len(flow)))
    if until <= since:
        return
    first, last = int(since), int(until)
    if first == last:
        flow[first] += gallons_a_minute * (until - since)
        return
    flow[first] += gallons_a_minute * (first + 1 - since)
    flow[first + 1 : last] += gallons_a_minute
    if last < len(flow):
        flow[last] += gallons_a_minute * (until - last)
