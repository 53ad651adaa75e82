"""The published metering cases: inputs, expected value, tolerance, source and provenance, as collected."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

CASES: dict[str, dict[str, Any]] = {
    case["id"]: case for case in json.loads(Path(__file__).with_name("metering_cases.json").read_text(encoding="utf-8"))
}


def of(*ids: str) -> list[Any]:
    """The cases of these ids as test parameters that carry their source in the test's name."""
    return [pytest.param(CASES[i], id=f"{i}, {CASES[i]['source'][:70]}") for i in ids]


def close(case: dict[str, Any], factor: float = 1.0) -> Any:
    """The expected value with the source's tolerance; a tolerance of 0 leaves room for binary fractions only."""
    expected = float(case["expected"]) * factor
    return pytest.approx(expected, abs=max(case["tolerance"], 1e-9 * max(1.0, abs(expected))), rel=0)
