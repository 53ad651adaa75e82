"""A bar far higher than all others, cut so that these can be seen: a filled pool would flatten a month of days."""

from __future__ import annotations

import altair as alt
import numpy as np
import pandas as pd

from core.accounts.instants import Floats
from core.review.spoken import listed
from core.units import show
from dashboard.charts.base import Look

FLAT = 4.0  # times the height of all other days from which these are too low to read; our choice
MOST = 2  # bars cut in one chart
OVER = 1.3  # a cut bar's height against the highest of the others
BESIDE = 15  # pixels from a bar's middle to its words
GAP = 0.02  # of that height left open where a part is cut


def cut_bars(parts: pd.DataFrame) -> pd.DataFrame:
    """Parts of bars (``day``, ``value``) with ``drawn``, the height to draw. Shortened are the largest part of a bar
    and as many more as it takes; all others keep their height.
    """
    frame = parts.assign(drawn=parts["value"])
    above = frame[frame["value"] > 0]
    tops = above.groupby("day")["value"].sum().sort_values(ascending=False)
    counts = [n for n in range(1, MOST + 1) if n < len(tops) and tops.iloc[n - 1] > FLAT * tops.iloc[n]]
    for day in tops.index[: max(counts, default=0)]:
        mine = above.index[above["day"] == day]
        frame.loc[mine, "drawn"] = _capped(frame.loc[mine, "value"].to_numpy(float), OVER * tops.iloc[max(counts)])
    return frame


def _capped(values: Floats, whole: float) -> Floats:
    """The values, none above a level that makes them add up to ``whole``."""
    left, count = whole, len(values)
    for value in np.sort(values):
        if value * count > left:
            break
        left, count = left - value, count - 1
    result: Floats = np.minimum(values, left / max(count, 1))
    return result


def cut_marks(stack: pd.DataFrame, look: Look) -> list[alt.Chart]:
    """A gap in each part that is cut, and beside its bar how much the day was."""
    cut = stack[stack["cut"]]
    if cut.empty:
        return []
    days = stack[stack["day"].isin(cut["day"]) & (stack["to"] > 0)].groupby("day")
    words = pd.DataFrame(
        {
            "date": days["date"].first(),
            "y": days["to"].max(),
            "words": days["volume_l"].sum().map(lambda litres: f"{show(litres, 'volume', look.system)}, cut"),
        }
    )
    middle, half = (cut["from"] + cut["to"]) / 2, GAP / 2 * float(words["y"].max())
    gaps = pd.DataFrame({"date": cut["date"], "from": middle - half, "to": middle + half})
    x, y = alt.X("date:O"), alt.Y("from:Q")
    marks = [alt.Chart(gaps).mark_bar(color=look.palette.ground).encode(x=x, y=y, y2="to:Q")]
    early, ink = words["date"] <= 15, look.palette.ink
    beside = (
        alt.Chart(words[early]).mark_text(align="left", dx=BESIDE, baseline="top", color=ink),
        alt.Chart(words[~early]).mark_text(align="right", dx=-BESIDE, baseline="top", color=ink),
    )
    return [*marks, *(each.encode(x=x, y=alt.Y("y:Q"), text="words:N") for each in beside)]


def cut_words(stack: pd.DataFrame, look: Look) -> str:
    """Which bars are cut, for the text alternative; "" where none is."""
    cut = stack[stack["day"].isin(stack.loc[stack["cut"], "day"]) & (stack["to"] > 0)].groupby("when", sort=False)
    told = [f"of {day}, {show(litres, 'volume', look.system)}" for day, litres in cut["volume_l"].sum().items()]
    if not told:
        return ""
    return f" The {'bar' if len(told) == 1 else 'bars'} {listed(told)}, {'is' if len(told) == 1 else 'are'} drawn cut."
