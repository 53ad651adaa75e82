"""The truth file: what was done to the household and when, and where every gallon went."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import Any

import numpy as np

from maker import people, plants, story
from maker.clock import FIRST, HOME, MIDNIGHTS, by_day, days, minute, wall
from maker.garden import VALVES
from maker.life import Life

UNITS = "gal are US gallons, gph gallons per hour; times are the home's wall clock with its offset, ends exclusive"


def iso(when: datetime | int) -> str:
    """A wall-clock time with its offset."""
    local = wall(when) if isinstance(when, int) else when
    return local.replace(tzinfo=HOME).isoformat()


def tell(life: Life, written: dict[str, Any]) -> dict[str, Any]:
    """Everything the truth file holds."""
    spread = _deviation(life)
    return {
        "about": "Invented household; made by make_household.py. See README.md.",
        "units": UNITS,
        "first_day": FIRST.isoformat(),
        "after_last_day": (days()[-1] + timedelta(days=1)).isoformat(),
        "household_deviation_gal": spread,
        "delivery_factors": {
            zone: {
                "rated_gph": VALVES[zone].rated_gph,
                "true_gph": round(gph, 2),
                "factor": round(gph / VALVES[zone].rated_gph, 4),
            }
            for zone, gph in sorted(life.healthy_gph.items())
        },
        "events": _events(life, written, spread),
        "unwritten_hose": [
            {"start": iso(h.start), "minutes": h.minutes, "what": h.what, "volume_gal": round(h.gallons, 1)}
            for h in life.hoses
            if not h.written
        ],
        "hand_runs": [
            {"zone": zone, "start": iso(when), "minutes": lasts, "written": was}
            for zone, when, lasts, _, was in story.HAND_RUNS
        ],
        "seasons": {
            "shutdowns": [story.SHUT_2024.isoformat(), story.SHUT_2025.isoformat()],
            "startups": [story.START_2025.isoformat(), story.START_2026.isoformat()],
            "controller_off_shutdown_pending": story.OFF_2026.isoformat(),
        },
        "visits": [
            {"since": first.isoformat(), "until": after.isoformat(), "people": number, "reason": reason}
            for first, after, number, reason, _ in story.VISITS
        ],
        "rain_holds": [[a.isoformat(), b.isoformat()] for a, b in life.rain_holds],
        "months": _months(life),
        "days": _days(life),
        "plants": _plants(life),
    }


def _events(life: Life, written: dict[str, Any], spread: dict[str, float]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []

    def add(kind: str, zone: str | None, start: datetime | int, end: datetime | int, rate: float | None, volume: float,
            pace: str, readings: int, note: str, **more: Any) -> None:  # fmt: skip
        signal = abs(volume) / (spread[pace] * readings**0.5)
        found.append(
            {"kind": kind, "zone": zone, "start": iso(start), "end": iso(end), "volume_gal": round(volume, 1),
             "rate_gph": None if rate is None else round(rate, 2), "pace": pace, "readings_touched": readings,
             "signal": round(signal, 1), "note": note} | more
        )  # fmt: skip

    pool, lasts = story.POOL_UNWRITTEN
    gallons = next(h.gallons for h in life.hoses if h.what == "pool" and not h.written)
    add("one_off", None, pool, pool + timedelta(minutes=lasts), gallons / lasts * 60, gallons, "weekly", 1,
        "The pool filled by hose; not written down, explained by a decision later.", decided="2025-07-02")  # fmt: skip
    clog_days = {wall(m).date() for m in np.flatnonzero(life.faults["less_than_set"])}
    add("less_than_set", story.CLOG_ZONE, datetime.combine(story.CLOG_FROM, time(0)), story.CLOG_CLEANED,
        (story.CLOG_LEFT - 1.0) * life.healthy_gph[story.CLOG_ZONE], life.faults["less_than_set"].sum(), "daily",
        len(clog_days), "Emitters clogged slowly; cleaned. rate_gph is the shortfall at the end.",
        repaired="2025-09-13", share_left_at_end=story.CLOG_LEFT)  # fmt: skip
    nights = (story.LEAK_FIXED.date() - story.LEAK_FROM.date()).days
    add("steady", None, story.LEAK_FROM, story.LEAK_FIXED, story.LEAK_GPH, life.parts["leak"].sum(), "daily", nights,
        "Fill valve of a toilet.", repaired="2025-11-08")  # fmt: skip
    bad = written["misread"]
    at = datetime.fromisoformat(bad["at"])
    found.append(
        {"kind": "misread", "zone": None, "start": iso(at), "end": iso(at), "volume_gal": float(bad["off_gal"]),
         "rate_gph": None, "pace": "daily", "readings_touched": 1, "note": "Two digits swapped; left in the book.",
         "typed": bad["typed"], "true": bad["true"], "signal": round(bad["off_gal"] / spread["daily"], 1)}
    )  # fmt: skip
    minutes = np.flatnonzero(life.faults["more_than_set"] > 1e-3)
    runs = {wall(m).date() for m in minutes if life.faults["more_than_set"][m] > 1}
    extra = life.faults["more_than_set"].sum()
    add("more_than_set", story.BREAK_ZONE, int(minutes[0]), datetime.combine(story.BREAK_FIXED, time(9)),
        extra / (len(minutes) / 60), extra, "daily", len(runs),
        "Line off its fitting. rate_gph is what flowed above the usual while the zone ran.",
        seen=story.BREAK_SEEN.isoformat(), repaired=story.BREAK_FIXED.isoformat(), runs=len(runs))  # fmt: skip
    opening = next(o for o in life.openings if o.why == "stuck")
    volume = life.faults["stuck_open"].sum()
    add("stuck_open", story.STUCK_ZONE, round(opening.start), story.CLOSED_ITSELF, volume / opening.minutes * 60,
        volume, "hourly", int(np.ceil(opening.minutes / 60)),
        "Grit held the valve open after its evening run; it closed by itself. Nobody wrote it down.")  # fmt: skip
    missed = life.faults["not_delivered"].sum()
    add("not_delivered", None, story.BATTERY_DEAD, story.BATTERY_NEW, None, missed, "daily", 7,
        "Battery dead: no zone ran.", runs=len(life.skipped),
        zones=sorted({o.zone for o in life.skipped}), written_as_missed=["2026-08-13", "2026-08-14"])  # fmt: skip
    return found


def _deviation(life: Life) -> dict[str, float]:
    """The household's own robust deviation of a reading at each pace, from its indoor use while people were home."""
    home = np.array([people.sleepers(d) > 0 for d in days()])
    daily = by_day(life.parts["indoor"])
    weekday = np.array([d.weekday() for d in days()])
    left = np.concatenate([_centred(daily[home & (weekday == w)]) for w in range(7)])
    weeks = np.array([daily[i : i + 7].sum() for i in range(0, len(daily) - 6, 7) if home[i : i + 7].all()])
    first, after = (minute(datetime.combine(d, time(0))) for d in story.HOURLY_MONTH)
    hours = life.parts["indoor"][first:after].reshape(-1, 60).sum(axis=1)
    of_week = (np.arange(len(hours)) + 24 * story.HOURLY_MONTH[0].weekday()) % 168
    hourly = np.concatenate([_centred(hours[of_week == h]) for h in range(168)])
    robust = {"daily": _mad(left), "weekly": _mad(_centred(weeks)), "hourly": _mad(hourly)}
    return {pace: round(max(s, 1 / 6**0.5), 2) for pace, s in robust.items()}


def _centred(values: np.ndarray) -> np.ndarray:
    return values - np.median(values)


def _mad(left: np.ndarray) -> float:
    return float(1.4826 * np.median(np.abs(left)))


def _months(life: Life) -> dict[str, Any]:
    """Gallons of every part, and what the meter shows at both ends, for every month (the last one is short)."""
    names, per_day = sorted(life.parts), {n: by_day(s) for n, s in life.parts.items()}
    made: dict[str, Any] = {}
    for month in sorted({f"{d:%Y-%m}" for d in days()}):
        here = [i for i, d in enumerate(days()) if f"{d:%Y-%m}" == month]
        marks = life.register([MIDNIGHTS[here[0]], MIDNIGHTS[here[-1] + 1]])
        made[month] = {
            "parts_gal": {n: round(float(per_day[n][here].sum()), 3) for n in names},
            "register_at_start": int(marks[0]),
            "register_at_end": int(marks[1]),
            "metered_gal": round(float(marks[1] - marks[0]), 3),
        }
    return made


def _days(life: Life) -> dict[str, list[float]]:
    """Gallons of every part for every day from ``first_day`` on."""
    return {name: [round(float(v), 2) for v in by_day(life.parts[name])] for name in sorted(life.parts)}


def _plants(life: Life) -> dict[str, Any]:
    """Gallons each planting wanted and got by month by the simulation's own formula, and its low days."""
    reached = {name[5:]: series for name, series in life.parts.items() if name.startswith("zone.")}
    reached[story.BREAK_ZONE] = reached[story.BREAK_ZONE] - life.faults["more_than_set"]
    patch = np.zeros_like(next(iter(reached.values())))
    for use in life.hoses:
        if use.what == "grass patch":
            patch[use.start] += use.gallons
    followed = plants.follow(life.sky, reached | {"hose": patch})
    for entry in followed.values():
        for name in ("wanted_gal", "got_gal"):
            entry[name] = {month: round(v, 1) for month, v in entry[name].items()}  # type: ignore[attr-defined]
    return followed
