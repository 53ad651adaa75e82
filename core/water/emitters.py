"""Flow of emitters and of groups of them.

    emitter_flow_lph(rated_lph, rated_kpa, exponent, pressure_kpa) -> lph
    group_flow_lph(count, flow_each_lph, length_m, flow_along_lph_m, *, exponent, rated_pressure_kpa, pressure_kpa)
        -> lph at the working pressure

q = k P^x (FAO Irrigation Manual Module 9): x is 0 for pressure compensating emitters, 0.5 for turbulent ones, 1 for
laminar ones. A compensating emitter holds its flow only inside the pressure range on its packet.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from core.errors import EntryError
from core.water.sun import Floats, floats


def emitter_flow_lph(
    rated_lph: ArrayLike, rated_kpa: ArrayLike, exponent: ArrayLike, pressure_kpa: ArrayLike
) -> Floats:
    """Flow at a pressure from the rated flow: q = rated (P / rated P)^x. Without pressure nothing flows."""
    pressure = floats(pressure_kpa)
    ratio = np.maximum(pressure, 0.0) / floats(rated_kpa)
    return np.where(pressure > 0, floats(rated_lph) * ratio ** floats(exponent), 0.0)


def group_flow_lph(
    count: float | None,
    flow_each_lph: float | None,
    length_m: float | None,
    flow_along_lph_m: float | None,
    *,
    exponent: float = 0.0,
    rated_pressure_kpa: float | None = None,
    pressure_kpa: float | None = None,
) -> float:
    """Flow of a group of emitters, litres per hour: count x flow of one, or length x flow per metre.

    None and NaN both mean not known. When the rated or the working pressure is not known the rated flow stands.

    Args:
        exponent: x of q = k P^x.
        rated_pressure_kpa: pressure the rating holds at.
        pressure_kpa: pressure at the emitters while the zone runs.

    Raises:
        EntryError: neither a count with a flow nor a length with a flow per length is known.
    """
    each, along = _known(flow_each_lph), _known(flow_along_lph_m)
    number, length = _known(count), _known(length_m)
    if number is not None and each is not None and (number > 0 or along is None):
        rated = number * each
    elif length is not None and along is not None:
        rated = length * along
    else:
        raise EntryError(
            "The flow of an emitter group needs a count with the flow of one, or a length with the flow per length."
        )
    rated_at, working = _known(rated_pressure_kpa), _known(pressure_kpa)
    if rated_at is None or working is None or rated_at <= 0:
        return rated
    return float(emitter_flow_lph(rated, rated_at, exponent, working))


def _known(value: float | None) -> float | None:
    return None if value is None or math.isnan(value) else float(value)
