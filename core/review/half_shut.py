"""The water shut by a shutdown list that nobody finished yet: from that day on no run is expected, as once it is."""

from __future__ import annotations

import pandas as pd

from core.care.checklist import TURNS_WATER

LONGEST = pd.Timedelta(days=200)  # a winter nobody ended; a season later its list says nothing any more


def with_half_shut(pauses: pd.DataFrame, steps: pd.DataFrame, zones: pd.DataFrame) -> pd.DataFrame:
    """The pauses, and one for winter from the day on which the last supply of the zones was shut, if none holds then.

    It ends on the day a start-up list opened the water again.

    Args:
        pauses, steps, zones: book frames; steps are the checklists'.
    """
    done = steps[steps["state"] == "done"]
    opened = done.loc[(done["season"] == "startup") & (done["step"] == TURNS_WATER["startup"]), "day"]
    implied = []
    for year, shut in done[(done["season"] == "shutdown") & (done["step"] == TURNS_WATER["shutdown"])].groupby("year"):
        day = shut["day"].max()
        drip = zones.loc[~zones["hand"].astype(bool) & ~(zones["until"] <= day), "supply"]
        if not set(drip) <= set(shut["subject"]) or _held(pauses, day):
            continue
        later = opened[opened > day]
        until = min([day + LONGEST, *later])
        implied.append(
            {"scope": "all", "since": day, "until": until, "reason": "winter", "note": f"shutdown {year}, not finished"}
        )
    if not implied:
        return pauses
    return pd.concat([pauses, pd.DataFrame(implied)], ignore_index=True).astype({"id": "Int64"})


def _held(pauses: pd.DataFrame, day: pd.Timestamp) -> bool:
    """Whether a winter is written down that holds on that day or begins within the next."""
    winter = pauses[(pauses["scope"] == "all") & (pauses["reason"] == "winter")]
    return bool(((winter["since"] <= day + pd.Timedelta(days=1)) & ~(winter["until"] <= day)).any())
