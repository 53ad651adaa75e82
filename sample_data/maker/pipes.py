"""Water in the pipes: street pressure through the day and year, a regulator that droops, lines that lose pressure."""

from __future__ import annotations

import math

from maker.clock import wall
from maker.dice import Dice
from maker.garden import VALVES

RATED_PSI = 25.0
_BREAK_GPH_PER_ROOT_PSI = 47.0  # an open half-inch line end behind the regulator and a small valve
_HOSE_GPM = 5.45  # at 62 psi


class Pipes:
    """How much flows through each open valve at a minute."""

    def __init__(self) -> None:
        dice = Dice("pressure")
        self._wander = [dice.normal(0, 1.3) for _ in range(4000)]  # one for every six hours
        self._regulator = [dice.normal(0, 0.35) for _ in range(4000)]
        self._known: dict[tuple[object, ...], dict[str, float]] = {}

    def street_psi(self, at: int) -> float:
        """Pressure of the main: lower in summer, lower still while the whole street waters and showers."""
        when = wall(at)
        hour = when.hour + when.minute / 60
        summer = 0.5 - 0.5 * math.cos(2 * math.pi * (when.timetuple().tm_yday - 20) / 365.25)
        busy = math.exp(-(((hour - 6.8) / 1.6) ** 2)) + 0.8 * math.exp(-(((hour - 19.5) / 2.0) ** 2))
        return 65.0 - 3.0 * summer - (2.5 + 3.5 * summer) * busy + self._wander[at // 360]

    def hose_gpm(self, at: int) -> float:
        return _HOSE_GPM * math.sqrt(self.street_psi(at) / 62.0)

    def flows(self, at: int, open_valves: frozenset[str], clog: dict[str, float], broken: str) -> dict[str, float]:
        """Gallons per hour through each open valve.

        Args:
            at: the minute; pressure is held for the half hour around it.
            clog: for each zone the share of its emitters' passages still open.
            broken: zone with its line off a fitting, or "".
        """
        key = (at // 30, open_valves, tuple(sorted(clog.items())), broken)
        if key not in self._known:
            self._known[key] = self._solve(at // 30 * 30, open_valves, clog, broken)
        return self._known[key]

    def _solve(self, at: int, open_valves: frozenset[str], clog: dict[str, float], broken: str) -> dict[str, float]:
        set_point = 25.7 + 0.03 * (self.street_psi(at) - 60.0) + self._regulator[at // 360]
        flow = {code: VALVES[code].rated_gph for code in sorted(open_valves)}
        for _ in range(60):
            outlet = set_point - 0.014 * sum(flow.values())
            for code in sorted(open_valves):
                valve = VALVES[code]
                lost = valve.line_loss_psi * (min(flow[code], 4 * valve.rated_gph) / valve.rated_gph) ** 1.8
                psi = max(outlet - lost, 2.0)
                through = sum(g.rated_gph * g.true_share * (psi / RATED_PSI) ** g.bend for g in valve.groups)
                through *= clog.get(code, 1.0)
                if broken == code:
                    through += _BREAK_GPH_PER_ROOT_PSI * math.sqrt(psi)
                flow[code] = 0.7 * flow[code] + 0.3 * through
        return flow
