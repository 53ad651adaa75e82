"""Water saved against overhead sprinklers."""

from __future__ import annotations

import pandas as pd

from core.water.efficiency import OVERHEAD_EFFICIENCY, Efficiency


def saved_against_overhead(use: pd.DataFrame, efficiency: Efficiency = OVERHEAD_EFFICIENCY) -> pd.DataFrame:
    """Saving = need / overhead efficiency - applied, for each row; negative where more was applied than that.

    Where less was applied than needed part of the saving is the plants' going short: ``short_l`` says how much,
    so that nobody takes a dry bed for thrift.

    Args:
        use: any rows (planting, zone, day, month) with ``need_l``, the need that rain did not meet, and
            ``applied_l``.
        efficiency: of the overhead system; its high end gives the low saving.

    Returns:
        ``use`` with overhead_l, saved_l, saved_low_l, saved_high_l, short_l (litres; NaN where need or applied is
        not known).
    """
    need, applied = use["need_l"], use["applied_l"]
    return use.assign(
        overhead_l=need / efficiency.value,
        saved_l=need / efficiency.value - applied,
        saved_low_l=need / efficiency.high - applied,
        saved_high_l=need / efficiency.low - applied,
        short_l=(need - applied).clip(lower=0.0),
    )
