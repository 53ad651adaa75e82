"""Tables of a month's review in the reader's units."""

from __future__ import annotations

import pandas as pd

from core.review.against import against_words
from core.review.month import MonthReview
from core.review.spoken import amount
from core.units import System
from dashboard.words import likely

COSTS = (
    "A part costs what the bill would be less without it, so the parts do not add up to the bill: what is used indoors "
    "and the base charge are the rest of it."
)


def parts_table(review: MonthReview, system: System) -> pd.DataFrame:
    """Where the month's water went, with range and cost."""
    rows = [
        {
            "Part": p.name,
            "Volume": amount(p.volume.value, "volume", system),
            "Range": likely(p.volume, system),
            "Cost": amount(p.cost.value, "money", system, review.currency) if p.cost else "",
        }
        for p in review.parts
    ]
    total = {"Part": "Together", "Volume": amount(review.used.value, "volume", system)}
    total |= {"Range": likely(review.used, system), "Cost": amount(review.cost.value, "money", system, review.currency)}
    return pd.DataFrame([*rows, total])


def zones_table(review: MonthReview, system: System) -> pd.DataFrame:
    """Each zone's month in numbers."""
    return pd.DataFrame(
        [
            {
                "Zone": z.name,
                "Need": amount(z.need.value, "volume", system),
                "Rain used": amount(z.effective_rain.value, "volume", system),
                "Given": "not written down" if z.unwritten else amount(z.applied.value, "volume", system),
                "Drained of it": "" if z.unwritten else amount(z.excess.value, "volume", system),
                "Too much": "yes" if z.too_much else "",
                "Against sprinklers": against_words(z.saved, system),
                "Days ran": z.ran_days,
                "Days missed": z.missed_days,
                "Days presumed": z.unvouched_days,
                "Days short of water": z.stress_days,
            }
            for z in review.zones
        ]
    )
