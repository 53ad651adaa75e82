"""What was assumed of the rain where nobody wrote any down, in one sentence wherever it matters."""

from __future__ import annotations

import pandas as pd

from core.review.sky import QUIET_GAUGE_DAYS
from core.review.spoken import counted
from core.units import System, show

_BETTER = "Write down rain, and 0 where none fell, to do better."


def rain_assumed(above: pd.DataFrame, system: System) -> list[str]:
    """Sentences on the days without a rain gauge.

    Args:
        above: rows of :func:`core.review.sky.sky` of the days spoken of.
    """
    said = []
    usual, none = (above["rain_basis"] == basis for basis in ("normals", "none"))
    if usual.any():
        far = f"For {counted(int(usual.sum()), 'day')} of {len(above)}, over {QUIET_GAUGE_DAYS} days from any entry, no"
        depth = show(float(above.loc[usual, "rain_mm"].sum()), "depth", system)
        of = "No" if usual.all() else far
        said.append(f"{of} rain is written down, so the usual rain is assumed: {depth} in all. {_BETTER}")
    if none.any():
        where = "" if none.all() else f" for {counted(int(none.sum()), 'day')}"
        said.append(f"No rain is written down{where} and no usual rain is known, so it counts as dry. {_BETTER}")
    return said


def rain_told(above: pd.DataFrame, system: System) -> list[str]:
    """How the rain of these days was come by."""
    gauge, quiet = (int((above["rain_basis"] == basis).sum()) for basis in ("gauge", "no entry"))
    said = []
    if gauge or quiet:
        dry = f"on {counted(quiet, 'more day' if gauge else 'day')} nothing is written, which counts as dry"
        parts = ([f"from your gauge on {counted(gauge, 'day')}"] if gauge else []) + ([dry] if quiet else [])
        said.append(f"Rain: {'; '.join(parts)}.")
    return said + rain_assumed(above, system)
