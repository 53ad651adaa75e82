"""Conflicts between programs of a home, told with its names and units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from core.review.as_set import days_words
from core.review.picture import Picture
from core.review.spoken import day_named, listed, percent
from core.units import show
from core.water.clashes import CAPACITY_SHARE, Clash, SetProgram, clashes
from core.water.program import Limits

_ANY = Limits()


def conflicts_of(
    picture: Picture, programs: Sequence[SetProgram], limits: Mapping[str, Limits], first: date
) -> tuple[str, ...]:
    """Zones open at once beyond the flow of their supply, and runs outside what the local rule allows, in sentences.

    Args:
        programs: of all zones. limits: by controller. first: the first day looked at.
    """
    zones, supplies = (picture.frames[kind].set_index("code") for kind in ("zone", "supply"))
    said: list[str] = []
    for supply, capacity in supplies["capacity_lph"].items():
        mine = [p for p in programs if zones["supply"].get(p.zone) == supply]
        if np.isfinite(capacity):
            said += [_over(picture, c, float(capacity)) for c in clashes(mine, _ANY, float(capacity), first)]
    for controller, rule in limits.items():
        mine = [p for p in programs if zones["controller"].get(p.zone) == controller]
        said += [_against(picture, c, rule) for c in clashes(mine, rule, None, first)]
    return tuple(said)


def overlap(programs: Sequence[SetProgram], first: date) -> bool:
    """Whether two zones are ever open at the same time."""
    alike = [replace(p, flow_lph=1.0) for p in programs]
    return bool(clashes(alike, _ANY, 1.0 / CAPACITY_SHARE, first))  # more than one open is more than 1


def _over(picture: Picture, clash: Clash, capacity_lph: float) -> str:
    system, names = picture.home.display, picture.zone_names
    usable = show(CAPACITY_SHARE * capacity_lph, "flow", system)
    who = listed(names[z] for z in clash.zones)
    are = "alone asks" if len(clash.zones) == 1 else "are open together and ask"
    return (
        f"{who} {are} for {show(clash.amount, 'flow', system)} more than the {usable} that should be drawn from the "
        f"supply ({percent(CAPACITY_SHARE)} of its flow), first on {day_named(clash.day, month=True)}."
    )


def _against(picture: Picture, clash: Clash, rule: Limits) -> str:
    name = picture.zone_names[clash.zones[0]]
    if clash.kind == "forbidden_day" and rule.allowed is not None:
        return f"{name} waters on {day_named(clash.day, month=True)}; the local rule allows {days_words(rule.allowed)}."
    hours = f"{rule.opens:%H:%M} to {rule.closes:%H:%M}" if rule.opens and rule.closes else "the allowed hours"
    return f"{name} runs {clash.amount:.0f} min outside the hours the local rule allows, {hours}."
