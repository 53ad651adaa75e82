"""The garden as it stands: what each valve feeds, on paper and in truth, and what grows there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Group:
    """Emitters of one sort: on paper ``rated_gph`` in all at 25 psi; in truth ``true_share`` of that.

    ``bend`` is how the true flow follows pressure (q in proportion to P to the power of bend).
    """

    code: str
    rated_gph: float
    true_share: float
    bend: float


@dataclass(frozen=True)
class Plants:
    """Plants as the simulation sees them: ground they draw on (ft2), thirst of the season, water they can store.

    ``green`` is the share of full-cover water use in each month; ``store_gal`` what lies between wet and wilting.
    ``share`` is the part of the zone's water they get. Rain counts when ``open_sky``.
    """

    code: str
    zone: str
    share: float
    ft2: float
    green: tuple[float, ...]
    store_gal: float
    since: date
    until: date
    open_sky: bool = True


@dataclass(frozen=True)
class Valve:
    """One zone: its emitters and the pressure (psi) its line loses at its usual flow."""

    code: str
    groups: tuple[Group, ...]
    line_loss_psi: float

    @property
    def rated_gph(self) -> float:
        return sum(g.rated_gph for g in self.groups)


VALVES = {
    v.code: v
    for v in (
        Valve("porch", (Group("pots", 20.0, 1.00, 0.05), Group("drips", 2.5, 0.96, 0.05)), 0.6),
        Valve("kitchen", (Group("beds", 86.4, 0.96, 0.06),), 1.1),
        Valve("fence", (Group("pairs", 60.0, 1.09, 0.52),), 1.7),
        Valve("berries", (Group("canes", 28.8, 0.97, 0.05), Group("soaker", 14.4, 0.78, 0.90)), 1.2),
        Valve("gravel", (Group("singles", 18.0, 1.05, 0.50), Group("rings", 12.0, 1.02, 0.50)), 1.0),
    )
}

_NEVER = date(2100, 1, 1)
_OLD = date(2024, 5, 1)
_LEAFY = (0.0, 0.0, 0.1, 0.25, 0.45, 0.55, 0.60, 0.60, 0.50, 0.30, 0.05, 0.0)
_CANES = (0.0, 0.0, 0.1, 0.30, 0.70, 0.95, 1.00, 0.90, 0.70, 0.40, 0.1, 0.0)
_EVERGREEN = (0.1, 0.1, 0.2, 0.30, 0.38, 0.40, 0.40, 0.40, 0.35, 0.25, 0.15, 0.1)
_DRY = (0.05, 0.05, 0.15, 0.25, 0.35, 0.35, 0.33, 0.30, 0.28, 0.22, 0.1, 0.05)
_CROP = (0.0, 0.0, 0.2, 0.50, 0.70, 0.95, 1.05, 1.05, 0.85, 0.60, 0.2, 0.0)
_GRASS = (0.1, 0.1, 0.4, 0.70, 0.80, 0.80, 0.80, 0.80, 0.75, 0.60, 0.3, 0.1)
_BLOOM = (0.0, 0.0, 0.2, 0.50, 0.75, 0.90, 1.00, 1.00, 0.85, 0.60, 0.0, 0.0)

PLANTS = (
    Plants("annuals", "porch", 0.86, 31.4, _BLOOM, 21.0, date(2025, 5, 17), date(2025, 10, 12)),
    Plants("annuals", "porch", 0.86, 31.4, _BLOOM, 21.0, date(2026, 5, 16), date(2026, 10, 18)),
    Plants("kitchen-herbs", "porch", 0.14, 5.6, _BLOOM, 3.8, date(2025, 5, 17), date(2025, 10, 12), open_sky=False),
    Plants("kitchen-herbs", "porch", 0.14, 5.6, _BLOOM, 3.8, date(2026, 4, 25), date(2026, 10, 18), open_sky=False),
    Plants("greens", "kitchen", 0.30, 44.0, _CROP, 22.0, date(2025, 4, 13), date(2025, 10, 5)),
    Plants("tomatoes", "kitchen", 0.40, 56.0, _CROP, 56.0, date(2025, 5, 24), date(2025, 10, 5)),
    Plants("squash", "kitchen", 0.30, 44.0, _CROP, 40.0, date(2025, 5, 31), date(2025, 9, 28)),
    Plants("greens", "kitchen", 0.30, 44.0, _CROP, 22.0, date(2026, 4, 12), date(2026, 10, 11)),
    Plants("tomatoes", "kitchen", 0.40, 56.0, _CROP, 56.0, date(2026, 5, 23), date(2026, 10, 11)),
    Plants("squash", "kitchen", 0.30, 44.0, _CROP, 40.0, date(2026, 5, 30), date(2026, 9, 27)),
    Plants("screen", "fence", 1.0, 94.0, _LEAFY, 95.0, _OLD, date(2026, 4, 1)),
    Plants("screen", "fence", 1.0, 160.0, _LEAFY, 165.0, date(2026, 4, 1), _NEVER),
    Plants("raspberries", "berries", 0.66, 72.0, _CANES, 90.0, _OLD, _NEVER),
    Plants("strawberries", "berries", 0.34, 30.0, _CANES, 18.0, _OLD, _NEVER),
    Plants("natives", "gravel", 0.60, 46.0, _DRY, 62.0, _OLD, _NEVER),
    Plants("pine", "gravel", 0.40, 28.0, _EVERGREEN, 60.0, _OLD, _NEVER),
    Plants("patch", "hose", 1.0, 90.0, _GRASS, 52.0, _OLD, _NEVER),
)
