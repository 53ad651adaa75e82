"""Published rules: EPA's winter bound as the account tells it; statistical rules, so that tests may lean on them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from core.units import to_base
from tests.core.accounts.books import plain_home
from tests.published.metering_cases import close, of
from tests.published.reference_rules import cusum_run_length, cusum_upper

Case = dict[str, Any]
COVERS = {"w031", "w053", "w118", "w119"}


@pytest.mark.parametrize("case", of("w118"))
def test_cusum_column(case: Case) -> None:
    given = case["inputs"]
    assert cusum_upper(given["x"], given["target"], given["K"]) == pytest.approx(
        case["expected"], abs=case["tolerance"]
    )


@pytest.mark.parametrize("case", of("w053"))
def test_cusum_signal(case: Case) -> None:
    given, expected = case["inputs"], case["expected"]
    sums = cusum_upper(given["x"], given["target"], given["K"])
    signal = next(k for k, c in enumerate(sums) if c > given["H"])
    last_zero = max(k for k in range(signal) if sums[k] == 0)
    assert signal + 1 == expected["index_1based"]
    assert sums[signal] == pytest.approx(expected["upper_at_signal"], abs=case["tolerance"])
    assert (signal - last_zero, last_zero + 1) == (expected["run_length_N"], expected["change_after_sample"])


@pytest.mark.parametrize("case", of("w119"))
def test_cusum_run_length(case: Case) -> None:
    given = case["inputs"]
    assert cusum_run_length(given["k"], given["h"], given["shift_sigma"]) / given["sides"] == close(case)


@pytest.mark.parametrize("case", of("w031"))
@pytest.mark.parametrize("share", [1.0, 0.9])
def test_a_winter_month_over_the_bound_is_said_beside_the_baseline(case: Case, share: float) -> None:
    """Read daily from January to March, without runs; nine tenths of the case lie below EPA's 12,000 gal a month."""
    home = plain_home(1, 89)
    home.people = case["inputs"]["people"]
    a_day = to_base(share * case["inputs"]["gal_per_month"], "gal", "volume") / 30.4
    home.intervals["volume_l"] = np.round(np.random.default_rng(1).normal(a_day, 0.1 * a_day, len(home.intervals)))
    flagged = "EPA WaterSense" in home.account().baseline.note
    assert flagged == (case["expected"] == "flag" and share == 1.0)
