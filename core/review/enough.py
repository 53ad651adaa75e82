"""Enough or too much: one meaning, one figure and one threshold for every page, the command and JSON.

Too much is water that was given and drained below the roots, or fell where nothing grows, once it is more than
``MUCH`` - 1 of what the plants needed beyond rain. Less than that is the loss that every drip system has, and is told
as drained, not as too much.
"""

from __future__ import annotations

from collections.abc import Sequence

from core.review.spoken import amount, counted
from core.units import System, show

# Of the need beyond rain: bins of deficit, on target and excess in WRF 4309's executive report.
LITTLE, MUCH = 0.7, 1.3
LEAST_L = 1.0  # what rounds to nothing is no water too much
MEANING = (
    "Too much is water given that drained below the roots or fell where nothing grows, where that is more than "
    f"{100 * (MUCH - 1):.0f} % of what the plants needed beyond rain; less is the loss every system has."
)


def is_too_much(need_l: float, rain_l: float, excess_l: float) -> bool:
    """Whether what drained of the water given is too much.

    Args:
        need_l, rain_l: of the plants in the time looked at, and rain that stayed with their roots.
        excess_l: of the water given, what drained or fell where nothing grows.
    """
    return excess_l >= LEAST_L and excess_l > (MUCH - 1) * max(need_l - rain_l, 0.0)


def too_much_sentence(found: Sequence[tuple[str, float, float | None]], system: System, currency: str) -> str:
    """Where there was too much, how many litres and what they cost; "" when there was not.

    Args:
        found: name, litres and money (None: not known) of every zone that got too much.
    """
    if not found:
        return ""
    ranked = sorted(found, key=lambda row: -row[1])
    total, prices = sum(litres for _, litres, _ in ranked), [m for _, _, m in ranked if m is not None]
    price = f" ({amount(sum(prices), 'money', system, currency)})" if sum(prices) >= 0.005 else ""
    name, most, _ = ranked[0]
    if len(ranked) == 1:
        return f"Too much in {name}: {show(total, 'volume', system)}{price} drained below the roots."
    where = (
        f"Too much in {counted(len(ranked), 'zone')}: {show(total, 'volume', system)}{price} drained below the roots"
    )
    return f"{where}, most of it in {name} ({show(most, 'volume', system)})."
