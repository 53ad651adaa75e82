"""The home's usual season of watering."""

from __future__ import annotations

from core.book.kinds import Home


def usually_shut(home: Home, month: int) -> bool:
    """Whether the whole month lies between the home's usual shutdown and start-up."""
    opens, closes = _month_day(home.startup_due), _month_day(home.shutdown_due)
    if opens is None or closes is None:
        return False
    running = [(month, day) for day in range(1, 29)]
    inside = [opens <= d < closes if opens < closes else d >= opens or d < closes for d in running]
    return not any(inside)


def _month_day(text: str) -> tuple[int, int] | None:
    month, _, day = text.partition("-")
    return (int(month), int(day)) if month.isdigit() and day.isdigit() else None
