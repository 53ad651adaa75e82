"""The statistical reference rules against published tables, so that tests may lean on them."""

from __future__ import annotations

from typing import Any

import pytest

from tests.published.metering_cases import close, of
from tests.published.reference_rules import cusum_run_length, cusum_upper

Case = dict[str, Any]
COVERS = {"w053", "w118", "w119"}


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
