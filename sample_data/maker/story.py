"""What happened to the household, and how its controller was set. Everything with a date is here."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time

from maker.clock import on

D = date

# Seasons: the water was on from the day after a start-up to the day before a shutdown.
SHUT_2024 = D(2024, 11, 2)
START_2025 = D(2025, 4, 12)
SHUT_2025 = D(2025, 10, 18)
START_2026 = D(2026, 4, 11)
OFF_2026 = D(2026, 10, 25)  # controller turned to off; the shutdown itself is still to do

# Readings: Sundays, then every morning; the utility's hourly file for one month.
DAILY_FROM = D(2025, 7, 1)
HOURLY_MONTH = (D(2026, 7, 1), D(2026, 8, 1))

# What went wrong.
STUCK_ZONE, STUCK_NIGHT, CLOSED_ITSELF = "berries", D(2026, 7, 16), on("2026-07-17 06:35")
BATTERY_DEAD, BATTERY_NEW = on("2026-08-08 01:10"), on("2026-08-15 09:15")
LEAK_FROM, LEAK_FIXED, LEAK_GPH = on("2025-09-27 21:30"), on("2025-11-08 11:20"), 3.4
BREAK_ZONE, BREAK_FROM, BREAK_SEEN, BREAK_FIXED = "fence", D(2026, 6, 8), D(2026, 6, 18), D(2026, 6, 20)
CLOG_ZONE, CLOG_FROM, CLOG_CLEANED, CLOG_LEFT = "kitchen", D(2025, 6, 25), on("2025-09-13 09:45"), 0.42
MISREAD_MONTH = (2026, 2)
POOL_UNWRITTEN = on("2025-06-21 10:40"), 182  # when the hose was opened, minutes
POOL_WRITTEN = on("2026-06-27 09:30"), 186

# Who was away or came to stay: first night, first day as usual again, people, reason, note.
VISITS = (
    (D(2024, 12, 21), D(2025, 1, 2), 4, "guests", "Marek's parents over the holidays"),
    (D(2025, 8, 2), D(2025, 8, 11), 0, "away", "The coast"),
    (D(2025, 11, 26), D(2025, 12, 1), 4, "guests", ""),
    (D(2026, 3, 27), D(2026, 4, 1), 0, "away", "Spring trip"),
    (D(2026, 8, 21), D(2026, 8, 26), 3, "guests", "Inge"),
)

# Tests at the meter or the bucket, with the house kept quiet: start, minutes.
QUIET = (
    (on("2024-11-02 09:00"), 30),
    (on("2025-05-11 09:30"), 60),
    (on("2025-09-13 09:00"), 20),
    (on("2025-09-13 11:30"), 20),
    (on("2025-11-07 21:40"), 120),
    (on("2025-11-08 08:45"), 60),
    (on("2025-11-08 09:50"), 30),
    (on("2025-11-08 13:00"), 60),
    (on("2026-05-09 09:00"), 25),
    (on("2026-06-07 09:30"), 60),
    (on("2026-09-06 09:30"), 60),
)
HOUSE_SHUT = on("2025-11-08 09:50"), 30  # while looking for the leak


@dataclass(frozen=True)
class Setting:
    """A program of the controller from ``since`` to before ``until`` (None: still set)."""

    zone: str
    label: str
    since: date
    until: date | None
    days: str
    starts: str
    minutes: float
    percent: float = 100.0

    def waters_on(self, day: date) -> bool:
        if day < self.since or (self.until is not None and day >= self.until):
            return False
        if self.days == "daily":
            return True
        if self.days.startswith("every"):
            _, every, _, anchor = self.days.split()
            return (day - date.fromisoformat(anchor)).days % int(every) == 0
        return ("mon", "tue", "wed", "thu", "fri", "sat", "sun")[day.weekday()] in self.days.split()

    @property
    def start_times(self) -> list[time]:
        return [time.fromisoformat(t) for t in self.starts.split()]


def _set(
    zone: str, label: str, *steps: tuple[date, str, str, float] | tuple[date, str, str, float, float]
) -> list[Setting]:
    """Settings that follow one another; a step without days ends the program."""
    made = []
    for index, step in enumerate(steps):
        until = steps[index + 1][0] if index + 1 < len(steps) else None
        if step[1]:
            made.append(Setting(zone, label, step[0], until, *step[1:]))
    return made


SETTINGS = [
    *_set(
        "porch", "a",
        (D(2025, 5, 17), "daily", "06:00", 8),
        (D(2025, 6, 14), "daily", "06:00 19:30", 9),
        (D(2025, 9, 7), "daily", "06:00", 9),
        (D(2026, 4, 25), "daily", "06:00", 6),
        (D(2026, 5, 31), "daily", "06:00", 10),
    ),
    *_set("porch", "b", (D(2026, 6, 14), "daily", "19:30", 9), (D(2026, 9, 8), "", "", 0)),
    *_set(
        "kitchen", "a",
        (D(2025, 4, 13), "tue sat", "05:05", 20),
        (D(2025, 5, 24), "mon tue thu sat", "05:05", 32),
        (D(2025, 6, 14), "mon tue thu sat", "05:05", 45),
        (D(2025, 9, 14), "tue sat", "05:05", 35),
        (D(2025, 10, 6), "", "", 0),
        (D(2026, 4, 12), "tue sat", "05:05", 20),
        (D(2026, 5, 23), "mon tue thu sat", "05:05", 32),
        (D(2026, 6, 14), "mon tue thu sat", "05:05", 46),
        (D(2026, 9, 8), "tue sat", "05:05", 36),
        (D(2026, 10, 11), "", "", 0),
    ),
    *_set(
        "fence", "a",
        (D(2024, 9, 22), "mon fri", "04:20", 30),
        (D(2025, 4, 13), "mon fri", "04:20", 24),
        (D(2025, 6, 1), "mon wed fri", "04:20", 30),
        (D(2025, 9, 7), "mon fri", "04:20", 30),
        (D(2026, 4, 12), "mon fri", "04:20", 30),
        (D(2026, 5, 31), "mon wed fri", "04:20", 40),
        (D(2026, 7, 1), "mon wed fri", "04:20", 40, 115),
        (D(2026, 9, 8), "mon fri", "04:20", 36),
    ),
    *_set(
        "berries", "a",
        (D(2024, 9, 15), "every 3 from 2024-09-15", "21:00", 40),
        (D(2025, 4, 13), "every 3 from 2025-04-13", "21:00", 30),
        (D(2025, 5, 24), "every 2 from 2025-05-24", "21:00", 55),
        (D(2025, 9, 7), "every 3 from 2025-09-07", "21:00", 45),
        (D(2026, 4, 12), "every 3 from 2026-04-12", "21:00", 30),
        (D(2026, 5, 23), "every 2 from 2026-05-23", "21:00", 58),
        (D(2026, 9, 8), "every 3 from 2026-09-08", "21:00", 45),
    ),
    *_set(
        "gravel", "a",
        (D(2025, 5, 10), "sat", "02:45", 75),
        (D(2025, 9, 20), "sat", "02:45", 45),
        (D(2026, 5, 9), "sat", "02:45", 75),
        (D(2026, 9, 19), "sat", "02:45", 45),
    ),
]  # fmt: skip

WINTERS = ((SHUT_2024, D(2025, 4, 13)), (SHUT_2025, D(2026, 4, 12)), (OFF_2026, None))
REPAIR_PAUSE = (BREAK_ZONE, D(2026, 6, 19), D(2026, 6, 20))

# Runs by hand, written down when ``written``: zone, start, minutes, words, written.
HAND_RUNS = (
    ("fence", on("2025-04-12 10:50"), 4, "start-up", False),
    ("berries", on("2025-04-12 11:05"), 4, "start-up", False),
    ("kitchen", on("2025-04-12 11:20"), 4, "start-up", False),
    ("kitchen", on("2025-09-13 09:05"), 10, "meter test before cleaning", True),
    ("kitchen", on("2025-09-13 11:35"), 10, "meter test after cleaning", True),
    ("fence", on("2026-04-11 10:30"), 5, "start-up, looked at every emitter", True),
    ("berries", on("2026-04-11 10:45"), 5, "start-up", True),
    ("kitchen", on("2026-04-11 11:00"), 5, "start-up", True),
    ("gravel", on("2026-04-11 11:15"), 5, "start-up", True),
    ("berries", on("2026-05-09 09:05"), 15, "meter test", True),
    ("fence", on("2026-06-20 10:10"), 6, "line put back, watched it", True),
    ("kitchen", on("2026-08-15 09:40"), 35, "by hand, everything was dry", True),
    ("berries", on("2026-08-15 10:20"), 50, "by hand", True),
    ("porch", on("2026-08-15 11:15"), 14, "by hand", True),
    ("fence", on("2026-08-15 11:35"), 45, "by hand", True),
)

# The controller's clock: looked at when, how fast it was, set right or not. It gains about 1.6 minutes a month.
CLOCK_GAIN_PER_DAY = 1.6 / 30.4
CLOCK_LOOKS = (
    (on("2025-04-12 10:20"), 0, True),
    (on("2025-09-14 18:00"), 8, True),
    (on("2026-04-11 10:10"), 0, True),
    (on("2026-07-05 19:00"), 4, True),
    (on("2026-08-15 09:15"), 0, True),
)
