"""When the programs that fit start: those set now where all of them still serve, else one zone after the other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time
from itertools import pairwise

from core.notation import Starts
from core.review.as_set import AsSet
from core.review.conflicts import overlap
from core.review.demand import Demand
from core.water.clashes import SetProgram, clashes
from core.water.layout import STEP, at_night, lay_out
from core.water.program import Fitting, Limits
from core.water.runtime import cycles


@dataclass(frozen=True)
class Draft:
    """A zone before start times are laid out."""

    zone: str
    name: str
    controller: str
    supply: str
    flow_lph: float
    as_set: tuple[AsSet, ...]
    demand: Demand | None
    fit: Fitting | None
    note: str
    idle: bool  # whether nothing needs watering, as far as is known


def start_times(
    drafts: list[Draft], limits: Mapping[str, Limits], first: date, names: Mapping[str, str]
) -> tuple[dict[str, Starts], list[str]]:
    """Start times of every zone: those set now where all of them still serve, else one zone after the other; zones of
    another controller on the same supply are waited for as well. And sentences about what does not fit.

    Args:
        limits: by controller. first: of the month. names: of the zones, for the sentences.
    """
    found: dict[str, Starts] = {}
    problems: list[str] = []
    for controller, rule in limits.items():
        mine = [d for d in drafts if d.controller == controller and d.fit is not None]
        mine.sort(key=lambda d: min((t for p in d.as_set for t in p.starts.times), default=time.max))
        supplies = {d.supply for d in mine}
        taken = [p for d in drafts if d.zone in found and d.supply in supplies for p in as_placed(d, found[d.zone])]
        kept = {d.zone: Starts(tuple(sorted({t for p in d.as_set for t in p.starts.times}))) for d in mine}
        placed = [p for d in mine for p in as_placed(d, kept[d.zone])]
        if all(_serves(d, kept[d.zone]) for d in mine) and not (
            overlap([*taken, *placed], first) or clashes(placed, rule, None, first)
        ):
            found |= kept
            continue
        layout = lay_out({d.zone: d.fit for d in mine if d.fit is not None}, rule, taken, names)
        found |= layout.starts
        problems += layout.problems
    return found, problems


def _serves(draft: Draft, starts: Starts) -> bool:
    """Whether these start times are as many as the program asks for, round and at night, leave it time to run and soak,
    and leave a small store no longer without water than it lasts."""
    if draft.fit is None or draft.demand is None or len(starts.times) != draft.fit.starts:
        return False
    fit, need = draft.fit, draft.demand.need
    if any(t.minute % STEP or not (fit.spread or at_night(t, fit.minutes)) for t in starts.times):
        return False
    begins = [t.hour * 60 + t.minute for t in starts.times]
    gaps = [b - a for a, b in pairwise([*begins, begins[0] + 1440])]
    soak = 0.0
    if need.rate_mm_h is not None and need.intake_mm_h is not None:
        soak = cycles(fit.minutes * fit.starts, need.rate_mm_h, need.intake_mm_h).soak_minutes
    return min(gaps) >= fit.minutes + soak and (need.lasts_days >= 1 or max(gaps) <= 1440 * need.lasts_days)


def as_placed(draft: Draft, starts: Starts) -> list[SetProgram]:
    """The program that fits at these times, to be held against others; none where there is none."""
    if draft.fit is None:
        return []
    return [SetProgram(draft.zone, "a", draft.fit.days, starts, draft.fit.minutes, draft.flow_lph)]
