"""What the garden got against overhead sprinklers, named as what it is: saved, or more than they would have used.

The figures of a review keep their sign, negative where more was given; whoever shows them asks here.
"""

from __future__ import annotations

from dataclasses import replace

from core.figures import Figure, Line
from core.review.spoken import amount
from core.units import System

SPRINKLERS = "Overhead sprinklers would have used "


def is_more(figure: Figure) -> bool:
    """Whether a saving is none: more was given than overhead sprinklers would have used."""
    return (figure.value or 0.0) < 0


def as_said(figure: Figure, *, added_up: bool = False) -> Figure:
    """A saving as its amount, to stand under a name that says which way: what is more is no negative saving.

    Args:
        added_up: its working is of figures that are savings themselves.
    """
    if not is_more(figure):
        return figure
    low, high = (None if end is None else -end for end in (figure.high, figure.low))
    working = tuple(_turned(line) for line in figure.working) if added_up else figure.working
    return replace(figure, value=-(figure.value or 0.0), low=low, high=high, working=working)


def against_words(figure: Figure, system: System) -> str:
    """Beside others in a column: "120 gal less", "296 gal more"."""
    said = amount(as_said(figure).value, "volume", system)
    return said if not figure.value else f"{said} {'more' if is_more(figure) else 'less'}"


def against_sentence(figure: Figure, system: System) -> str:
    """The same as a sentence of the month."""
    amount_said = amount(abs(figure.value or 0.0), "volume", system)
    return f"{SPRINKLERS}{amount_said} {'less' if is_more(figure) else 'more'} for the same plants."


def _turned(line: Line) -> Line:
    return line if isinstance(line.value, str) or line.unit not in ("l", "money") else replace(line, value=-line.value)
