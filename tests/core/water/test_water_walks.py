"""The root zone walked in plain numbers, in step with others, and in stretches: always the same days.

A hand-written balance of FAO-56 eqs. 81, 84 and 85 stands beside them, for a planting whose ground is wetted whole.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from core.water.soil import Balance, root_zone_balance

DAYS = 25
amounts = arrays(float, DAYS, elements=st.floats(0, 60) | st.just(0.0))
with_gaps = arrays(float, DAYS, elements=st.floats(0, 15) | st.just(float("nan")))
FIELDS = (
    "depletion_mm", "outside_depletion_mm", "et_mm", "stress_coefficient", "effective_rain_mm", "effective_applied_mm",
    "percolated_rain_mm", "percolated_applied_mm", "stressed",
)  # fmt: skip


def alike(one: Balance, other: Balance, place: int | None = None, since: int = 0) -> None:
    for name in FIELDS:
        mine, theirs = getattr(one, name)[since:], getattr(other, name)
        theirs = theirs if place is None else theirs[:, place]
        np.testing.assert_allclose(mine.astype(float), theirs.astype(float), rtol=1e-9, atol=1e-9, err_msg=name)


@settings(max_examples=80, deadline=None)
@given(need=with_gaps, rain=amounts, applied=amounts, total=st.floats(2, 200), fraction=st.floats(0.1, 0.8),
       wetted=st.floats(0.2, 1.0), start=st.floats(0, 1), parts=st.integers(1, 3))  # fmt: skip
def test_alone_or_among_others(
    need: np.ndarray, rain: np.ndarray, applied: np.ndarray, total: float, fraction: float, wetted: float, start: float,
    parts: int,
) -> None:  # fmt: skip
    alone = root_zone_balance(
        need, rain, applied, total, fraction, start_depletion_mm=start * total, wetted_fraction=wetted, parts=parts
    )
    many = root_zone_balance(
        np.stack([need[::-1], need], axis=1), rain, np.stack([applied, applied], axis=1), np.array([50.0, total]),
        np.array([0.5, fraction]), start_depletion_mm=np.array([0.0, start * total]),
        wetted_fraction=np.array([1.0, wetted]), parts=parts,
    )  # fmt: skip
    alike(alone, many, 1)


@settings(max_examples=60, deadline=None)
@given(need=amounts, rain=amounts, applied=amounts, cut=st.integers(1, DAYS - 1), wetted=st.floats(0.2, 1.0))
def test_in_two_stretches_as_in_one(
    need: np.ndarray, rain: np.ndarray, applied: np.ndarray, cut: int, wetted: float
) -> None:
    """Both stores go on where they stood: the wetted share and the ground outside it."""
    whole = root_zone_balance(need, rain, applied, 80.0, 0.5, wetted_fraction=wetted)
    second = root_zone_balance(
        need[cut:], rain[cut:], applied[cut:], 80.0, 0.5, wetted_fraction=wetted,
        start_depletion_mm=float(whole.depletion_mm[cut - 1]),
        start_outside_mm=float(whole.outside_depletion_mm[cut - 1]),
    )  # fmt: skip
    alike(whole, second, since=cut)


@settings(max_examples=60, deadline=None)
@given(need=amounts, rain=amounts, applied=amounts)
def test_beside_the_equations_written_out(need: np.ndarray, rain: np.ndarray, applied: np.ndarray) -> None:
    """FAO-56 eq. 85 day by day, the order of Example 38: water in, surplus out, then the plants; Ks by eq. 84."""
    total, fraction, missing = 80.0, 0.5, 0.0
    found = root_zone_balance(need, rain, applied, total, fraction, adjust_fraction=False)
    for day in range(DAYS):
        missing = max(missing - rain[day] - applied[day], 0.0)
        stress = min((total - missing) / ((1 - fraction) * total), 1.0)
        taken = min(stress * need[day], total - missing)
        missing += taken
        assert found.depletion_mm[day] == pytest.approx(missing, abs=1e-9)
        if need[day] > 1e-9:  # the share of the need that was met
            assert found.stress_coefficient[day] == pytest.approx(taken / need[day], abs=1e-9)
