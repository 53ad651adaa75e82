"""What a step of a shutdown or start-up is, and where the advice of the lists comes from.

The order follows Colorado State University Extension's advice on draining drip systems, newspaper garden columns,
municipal conservation pages and an Arizona extension leaflet, merged; what no source was found for is marked
"common practice, no source".
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from core.care.installed import Part

Season = Literal["shutdown", "startup"]

DRAINING = "Colorado State University Extension, together with local press and garden columns"
AIR = "Colorado State University Extension"
COLUMNS = "newspaper garden columns, municipal conservation pages"
LEAFLET = "Arizona extension leaflet on drip"


@dataclass(frozen=True, slots=True)
class StepKind:
    """One step as the lists know it; it repeats for every installed part of its sort.

    Attributes:
        code: its name in the book.
        part: the sort of part it is done to.
        title: what to do; ``{name}`` is the part's name.
        words: how.
        why: what happens otherwise.
        source: where the advice comes from.
        cautions: codes of :mod:`core.care.cautions`.
        optional: the list can be finished without it.
        fulfils: task of :mod:`core.care.tasks` that is done with it.
    """

    code: str
    part: Part
    title: str
    words: str
    why: str
    source: str
    cautions: tuple[str, ...] = ()
    optional: bool = False
    fulfils: str = ""
