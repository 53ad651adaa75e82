"""What was written down as it went: readings, the utility's file, rain, weather, runs, hose, visits, tests, bills."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import numpy as np

from maker import people, story
from maker.clock import AFTER, FIRST, at, days, minute, on, wall
from maker.dice import Dice
from maker.life import BIRD_BATH, Life
from maker.paper_garden import PRICES
from maker.tables import Row

TEST_FLOW_L = 0.264172  # gallons in a litre, for cups read in millilitres


def stamp(when: datetime | int) -> str:
    return f"{wall(when) if isinstance(when, int) else when:%Y-%m-%d %H:%M}"


def shown(life: Life, when: datetime | int) -> int:
    """The whole gallons the register shows."""
    return int(life.register(when if isinstance(when, int) else minute(when)))


def sheets(life: Life) -> tuple[dict[str, list[Row]], dict[str, Any]]:
    """The sheets of the log, and what the truth file has to say about how they were written."""
    readings, misread = _readings(life)
    made = {
        "meter_reading": readings,
        "metered_use": _utility_file(life),
        "run": _runs(life),
        "rain": _rain(life),
        "weather": _weather(life),
        "other_use": _other_use(life),
        "household": [
            {"since": first, "nth": 1, "until": after, "people": number, "reason": reason, "note": note}
            for first, after, number, reason, note in story.VISITS
        ],
        "flow_test": _flow_tests(life),
        "catch_test": _catch_tests(),
        "leak_test": _leak_tests(life),
        "bill": _bills(life),
    }
    return made, {"misread": misread}


def _readings(life: Life) -> tuple[list[Row], dict[str, Any]]:
    """Sundays at first, with a Sunday taken from the bill now and then; every morning from July 2025."""
    dice = Dice("readings")
    rows: list[Row] = [_reading(life, on("2024-11-02 11:40"), "water to the garden shut off")]
    for day in days():
        if people.sleepers(day) == 0 or (people.sleepers(day - timedelta(days=1)) == 0 and dice.chance(0.5)):
            continue
        if day < story.DAILY_FROM:
            if day.weekday() == 6 and day not in (date(2025, 2, 9), date(2025, 5, 4)):
                rows.append(_reading(life, _about(day, 8.4, dice, 0.5)))
        elif dice.chance(0.945):
            usual = 7.9 if day.weekday() >= 5 else 7.05
            rows.append(_reading(life, _about(day, 18.5 if dice.chance(0.02) else usual, dice, 0.22)))
    for day in (date(2025, 2, 5), date(2025, 5, 5)):
        row = _reading(life, at(day, 11), "from the bill")
        rows.append(row | {"at": day, "how": "bill"})
    rows.append(_reading(life, on("2025-04-12 10:05"), "start-up"))
    rows.append(_reading(life, on("2025-10-18 11:30"), "shutdown"))
    rows.append(_reading(life, on("2026-04-11 10:00"), "start-up"))
    rows.sort(key=lambda row: str(row["at"]))
    return rows, _misread(rows)


def _reading(life: Life, when: datetime, note: str = "") -> Row:
    return {"meter": "street", "at": stamp(when), "register_value": shown(life, when), "how": "eye",
            "first_after_change": False, "note": note}  # fmt: skip


def _about(day: date, hour: float, dice: Dice, spread: float) -> datetime:
    return datetime.combine(day, time(0)) + timedelta(minutes=int(60 * max(hour + dice.normal(0, spread), 5.5)))


def _misread(rows: list[Row]) -> dict[str, Any]:
    """Swap two neighbouring digits of one February reading so that it stands above the next."""
    for before, row, after in zip(rows, rows[1:], rows[2:], strict=False):
        value, day = row["register_value"], date.fromisoformat(str(row["at"])[:10])
        if (day.year, day.month) != story.MISREAD_MONTH or day.day < 5:
            continue
        tens, hundreds = value // 10 % 10, value // 100 % 10
        typed = value + (tens - hundreds) * 90
        if before["register_value"] < value and after["register_value"] + 60 < typed < after["register_value"] + 400:
            row["register_value"] = typed
            return {"at": row["at"], "typed": typed, "true": value, "off_gal": typed - value}
    raise RuntimeError("no reading to misread in that month")


def _utility_file(life: Life) -> list[Row]:
    """Hourly volumes of one month in whole gallons; three hours the radio missed are shared out by the utility."""
    first, after = (datetime.combine(d, time(0)) for d in story.HOURLY_MONTH)
    hours = int((after - first).total_seconds() // 3600)
    marks = [shown(life, first + timedelta(hours=h)) for h in range(hours + 1)]
    volumes = [int(v) for v in np.diff(marks)]
    missed = [h for h in range(hours) if on("2026-07-22 12:00") <= first + timedelta(hours=h) < on("2026-07-22 15:00")]
    total = sum(volumes[h] for h in missed)
    for n, h in enumerate(missed):
        volumes[h] = total // 3 + (1 if n < total % 3 else 0)
    return [
        {"meter": "street", "start": stamp(first + timedelta(hours=h)), "end": stamp(first + timedelta(hours=h + 1)),
         "volume_gal": volumes[h], "estimated": h in missed}
        for h in range(hours)
    ]  # fmt: skip


def _runs(life: Life) -> list[Row]:
    rows = [
        {"zone": zone, "at": stamp(when), "nth": 1, "ran": True, "duration_min": lasts, "why": why}
        for zone, when, lasts, why, written in story.HAND_RUNS
        if written
    ]
    known = (date(2026, 8, 13), date(2026, 8, 14))  # the days somebody was sure of, once the battery was found
    zones = sorted({(o.zone, wall(int(o.start)).date()) for o in life.skipped})
    rows += [
        {"zone": zone, "at": day, "nth": 1, "ran": False, "why": "battery dead"} for zone, day in zones if day in known
    ]
    return rows


def _rain(life: Life) -> list[Row]:
    """The gauge at seven: what fell from seven to seven, or since it was last emptied."""
    dice, rows, emptied, caught = Dice("gauge"), [], FIRST, 0.0
    for before, today in zip(life.sky, life.sky[1:], strict=False):
        caught += before.rain - before.rain_before(7) + today.rain_before(7)
        if people.away(at(today.day, 7)) or (caught > 0 and dice.chance(0.04)):
            continue
        read = max(caught * dice.normal(1.0, 0.03), 0.0)
        if read >= 0.002:
            rows.append(
                {"gauge": "yard", "start": stamp(at(emptied, 7)), "end": stamp(at(today.day, 7)),
                 "rain_in": f"{int(read * 100 + 0.5) / 100:.2f}", "trace": read < 0.005}
            )  # fmt: skip
        emptied, caught = today.day, 0.0
    return rows


def _weather(life: Life) -> list[Row]:
    """The airfield's file: whole degrees, a few days missing, once only the high."""
    dice, rows = Dice("airfield"), []
    gone = [date(2025, 1, 17) + timedelta(days=n) for n in range(2)] + [date(2026, 3, 8), date(2026, 8, 3)]
    for today in life.sky:
        low, high = round(today.low + dice.normal(0, 0.6)), round(today.high + dice.normal(0, 0.6))
        if today.day in gone:
            continue
        lost_low = today.day == date(2025, 6, 9)
        rows.append(
            {"station": "airfield", "day": today.day, "tmin_f": None if lost_low else low, "tmax_f": max(low, high)}
        )
    return rows


def _other_use(life: Life) -> list[Row]:
    dice, rows = Dice("diary"), []
    for use in life.hoses:
        if not use.written:
            continue
        row: Row = {"start": stamp(use.start), "nth": 1, "what": use.what, "spread": 25, "meter": "street"}
        if use.what == "pool":
            row |= {"end": stamp(use.start + use.minutes), "volume_gal": 1000, "spread": 10}
        else:
            guess = max(5 * round(use.gallons * dice.about(1.0, 0.2) / 5), 5)
            row |= {"volume_gal": guess, "start": wall(use.start).date() if dice.chance(0.12) else row["start"]}
        if use.what == "grass patch":
            row |= {"zone": "hose", "planting": "patch"}
        rows.append(row)
    first, after, every = BIRD_BATH
    rows.append({"start": stamp(at(first, 8)), "nth": 1, "end": stamp(at(after, 9)), "what": "bird bath",
                 "volume_gal": 2, "spread": 30, "meter": "street", "every_days": every})  # fmt: skip
    rows += [
        {"start": day, "nth": 1, "what": "watering can from the barrel", "volume_gal": 5 * round(gallons / 5),
         "spread": 20, "zone": "porch", "planting": "kitchen-herbs"}
        for day, gallons in life.unmetered
    ]  # fmt: skip
    return rows


def _through(life: Life, part: str, when: datetime, lasts: int) -> str:
    first = minute(when)
    return f"{life.parts[part][first : first + lasts + 2].sum():.1f}"


def _flow_tests(life: Life) -> list[Row]:
    return [
        {"at": "2024-11-02 09:10", "nth": 1, "supply": "town", "volume_gal": "5", "duration_min": "0.92",
         "pressure_psi": "64"},
        *(
            {"at": stamp(when), "nth": 1, "zone": zone, "volume_gal": _through(life, f"zone.{zone}", when, lasts),
             "duration_min": lasts}
            for zone, when, lasts, why, _ in story.HAND_RUNS
            if "meter test" in why
        ),
    ]  # fmt: skip


def _catch_tests() -> list[Row]:
    """Sixteen cups under the kitchen's emitters for three minutes, before and after they were cleaned."""
    dice, full = Dice("cups"), 0.6 * 0.96 / TEST_FLOW_L * 1000 / 60 * 3
    clogged = [full * min(max(dice.normal(story.CLOG_LEFT, 0.22), 0.0), 1.0) for _ in range(16)]
    cleaned = [full * dice.normal(0.99, 0.045) for _ in range(16)]
    return [
        {"zone": "kitchen", "at": when, "caught_ml": " ".join(f"{ml:.0f}" for ml in cups), "duration_min": 3}
        for when, cups in (("2025-09-13 09:07", clogged), ("2025-09-13 11:37", cleaned))
    ]


def _leak_tests(life: Life) -> list[Row]:
    tests = (
        (on("2025-05-11 09:30"), 60, "nothing", "nothing moved"),
        (on("2025-11-07 21:40"), 120, "nothing", "everything off, it still turns"),
        (on("2025-11-08 08:45"), 60, "manifold", "drip shut at the faucet, it still turns"),
        (on("2025-11-08 09:50"), 30, "house", "house valve shut, it stands still: the leak is indoors"),
        (on("2025-11-08 13:00"), 60, "nothing", "after the new fill valve"),
        (on("2026-06-07 09:30"), 60, "nothing", ""),
        (on("2026-09-06 09:30"), 60, "nothing", ""),
    )
    return [
        {"meter": "street", "at": stamp(when), "duration_min": lasts, "before": shown(life, when),
         "after": shown(life, when + timedelta(minutes=lasts)), "shut": shut, "note": note}
        for when, lasts, shut, note in tests
    ]  # fmt: skip


def amount(gallons: int, day: date) -> float:
    """The bill for a month's gallons by the prices of the day it begins."""
    base, steps, sewer = next(p[2:] for p in reversed(PRICES) if p[0] <= day)
    units, total, below = gallons / 1000, base + sewer, 0.0
    for top, price in steps:
        reach = units if top is None else min(units, top)
        total += max(reach - below, 0.0) * price
        below = reach
    return float(Decimal(f"{total:.6f}").quantize(Decimal("0.01"), ROUND_HALF_UP))


def _bills(life: Life) -> list[Row]:
    rows, since = [], date(2024, 11, 5)
    while True:
        until = date(since.year + since.month // 12, since.month % 12 + 1, 5)
        if until >= AFTER:
            return rows
        gallons = shown(life, at(until, 0)) - shown(life, at(since, 0))
        rows.append(
            {"supply": "town", "since": since, "until": until, "volume_gal": gallons, "amount": amount(gallons, since)}
        )
        since = until
