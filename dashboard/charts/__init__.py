"""Charts: a month's frames in, a drawing out. Nothing here reads a book, the clock or the screen."""

from dashboard.charts.base import Drawing, Look, key_entries
from dashboard.charts.days import days_drawing
from dashboard.charts.meter import intervals_drawing, unexplained_drawing
from dashboard.charts.month import need_drawing, use_drawing
from dashboard.charts.plants import depletion_drawing, reference_drawing

__all__ = [
    "Drawing",
    "Look",
    "days_drawing",
    "depletion_drawing",
    "intervals_drawing",
    "key_entries",
    "need_drawing",
    "reference_drawing",
    "unexplained_drawing",
    "use_drawing",
]
