"""First days that disagree: what grows in a zone, waters it or is set for it from before the zone itself begins."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from core.review.spoken import day_named, first_up, listed

PARTS = {"planting": "plants", "emitter_group": "emitters", "program": "program"}


def before_their_zone(frames: Mapping[str, pd.DataFrame]) -> list[str]:
    """A sentence for each zone that something of it holds before, with both days.

    Runs count from the zone's own first day on (``core/accounts/runs.py``), so until then its plants get nothing.

    Args:
        frames: zone, planting, emitter_group and program of the book.
    """
    said = []
    for zone in frames["zone"].dropna(subset=["since"]).to_dict("records"):
        early: dict[str, pd.Timestamp] = {}
        for kind, words in PARTS.items():
            mine = frames[kind]
            since = mine.loc[(mine["zone"] == zone["code"]) & (mine["since"] < zone["since"]), "since"]
            if len(since):
                early[words] = since.min()
        if early:
            parts = listed(f"its {words} since {day_named(day, year=True)}" for words, day in early.items())
            said.append(
                f"{first_up(zone['name'])} is in use since {day_named(zone['since'], year=True)}, but {parts}. "
                "Until the zone's first day nothing runs in the book, so its plants got nothing. "
                "Put right the day that is wrong."
            )
    return said
