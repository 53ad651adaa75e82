"""What a chart was drawn with and from."""

from __future__ import annotations

from typing import Any

import pandas as pd

from dashboard.charts import Look
from dashboard.colours import LIGHT
from tests.dashboard import invented


def look(system: str = "us") -> Look:
    return Look.of(invented.month(), system, LIGHT)  # type: ignore[arg-type]


def data_of(spec: dict[str, Any]) -> pd.DataFrame:
    """All rows of all layers."""
    return pd.concat([pd.DataFrame(rows) for rows in spec["datasets"].values()], ignore_index=True)
