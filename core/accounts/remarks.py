"""What is remarked about the time between two readings: the words of its note, in one place.

An interval's note is for people to read, and holds every remark that applies. Whoever goes by one of them asks for it
here by its name, so that words can be bettered without anything losing sight of them.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from core.accounts.instants import Flags
from core.units import register_text

Notes = npt.NDArray[np.object_]

ROLLED = "register rolled over"
WENT_BACK = "register went back a little"
FELL = "register fell: changed meter?"
BEYOND = "more than a home's meter can pass: misread?"
CHANGED = "register changed"
CHANGED_FROM_UNKNOWN = f"{CHANGED}; the old one's last number is not known"
UNMOVED = "same number as before: was it read?"
DOUBLED = "two readings of one instant; the later entry counts"
CUT = "what finer readings leave of a longer one"
NOT_ALL_BEHIND = "a meter behind this one was not read all the while; its use is part of this"
UNFIT = "fits neither the one before nor the one after"
ANOTHER = "another register"


def unfit(number: float, step: float) -> str:
    """A reading that neither neighbour can follow; ``step`` is the register's, which says how it is written."""
    return f"a reading of {register_text(number, step)} {UNFIT} and is left out"


def of_another(numbers: Iterable[float], step: float) -> str:
    """One or more readings in a row that are of another register."""
    written = [register_text(number, step) for number in numbers]
    if len(written) == 1:
        return f"a reading of {written[0]} follows {ANOTHER} and is not counted"
    return f"{len(written)} readings, {written[0]} to {written[-1]}, follow {ANOTHER} and are not counted"


def add(notes: Notes, row: int, remark: str) -> None:
    """Put one more remark into the note of a row."""
    notes[row] = f"{notes[row]}; {remark}" if notes[row] else remark


def joined(notes: Iterable[str]) -> str:
    """One note of the notes of intervals that became one, none of them twice."""
    return "; ".join(dict.fromkeys(note for note in notes if note))


def remarked(notes: Iterable[str], remark: str) -> Flags:
    """Whose note holds the remark."""
    return np.array([remark in note for note in notes], dtype=bool)
