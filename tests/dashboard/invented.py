"""An invented month in the shape of a review, for looking at charts without a book. Every number is made up."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pandas as pd

from core.accounts.findings import Finding, Rival
from core.care.due import DueItem
from core.figures import Figure, Line
from core.review.month import MonthReview, NextStep, PartUse, ZoneMonth

ZONES = {"hedge": "Quince hedge", "tubs": "Tubs by the door", "beds": "Kitchen *beds*", "slope": "Slope"}
DAYS = pd.date_range("2026-07-01", "2026-07-31")
METERED_THROUGH = 28  # last day the meter speaks of


def volume(litres: float, spread: float = 0.0) -> Figure:
    lines = (Line("register on 1 July", 120_400.0, "l", "your reading"), Line("ratio", 0.875, "", "common practice"))
    return Figure(litres, "volume", litres - spread, litres + spread, lines) if spread else Figure(litres, "volume")


def days_frame() -> pd.DataFrame:
    rows = []
    for day in DAYS:
        kind = "metered" if day.day <= METERED_THROUGH else "modelled"
        unexplained = {14: 900.0, 15: 650.0, 20: -120.0}.get(day.day, 15.0)
        watered = {code: 140.0 + 60.0 * place for place, code in enumerate(ZONES)} if day.day % 2 else {}
        parts = {"indoor": 420.0 + 10 * (day.day % 7), "other": 300.0 if day.day == 5 else 0.0}
        parts |= {f"zone:{code}": litres for code, litres in watered.items()}
        if kind == "metered":
            parts["unexplained"] = unexplained
        rows += [
            {"day": day, "part": part, "volume_l": litres, "sd_l": 40.0, "kind": kind} for part, litres in parts.items()
        ]
    return pd.DataFrame(rows)


def zone_days_frame() -> pd.DataFrame:
    rows = []
    for place, code in enumerate(ZONES):
        for day in DAYS:
            state = "presumed" if day.day % 2 else "off"
            if code == "tubs" and day.day in (9, 11):
                state = "missed"
            if code == "slope" and day.day > 24:
                state = "paused"
            if code == "hedge" and day.day in (1, 3):
                state = "ran"
            gave = state in ("ran", "presumed")
            rows.append(
                {
                    "day": day,
                    "zone": code,
                    "state": state,
                    "evidence": "meter contradicts" if state == "missed" else "",
                    "run_minutes": 40.0 if gave else 0.0,
                    "applied_l": 140.0 + 60 * place if gave else 0.0,
                    "need_l": 95.0 + 20 * place,
                    "rain_mm": 6.4 if day.day == 22 else 0.0,
                    "stressed": code == "tubs" and 10 <= day.day <= 12,
                }
            )
    return pd.DataFrame(rows)


def plant_days_frame() -> pd.DataFrame:
    rows = []
    depletion = 4.0
    for day in DAYS:
        applied = 6.0 if day.day % 2 and day.day not in (9, 11) else 0.0
        rain = 6.4 if day.day == 22 else 0.0
        depletion = min(max(depletion - applied - rain, 0.0) + 3.4, 30.0)
        rows.append(
            {
                "day": day,
                "zone": "tubs",
                "planting": "tubs",
                "need_mm": 3.4,
                "rain_mm": rain,
                "applied_mm": applied,
                "depletion_mm": depletion,
                "total_available_mm": 30.0,
                "readily_available_mm": 12.0,
                "stress_coefficient": 0.6 if depletion > 12 else 1.0,
                "percolated_mm": 0.4 if day.day == 22 else 0.0,
            }
        )
    return pd.DataFrame(rows)


def weather_days_frame() -> pd.DataFrame:
    methods = ["Hargreaves" if day.day < 25 else "monthly normal" for day in DAYS]
    return pd.DataFrame(
        {
            "day": DAYS,
            "reference_et_mm": [5.5 + 0.05 * day.day for day in DAYS],
            "method": methods,
            "rain_mm": [6.4 if day.day == 22 else 0.0 for day in DAYS],
            "tmin_c": 12.0,
            "tmax_c": 29.0,
        }
    )


def intervals_frame(hours: int = 24) -> pd.DataFrame:
    starts = pd.date_range("2026-07-01 06:00", periods=27 * 24 // hours, freq=f"{hours}h", tz="UTC")
    share = hours / 24
    frame = pd.DataFrame({"meter": "house", "start": starts, "end": starts + pd.Timedelta(hours=hours)})
    frame["indoor_l"], frame["zones_l"], frame["other_l"] = 430.0 * share, 400.0 * share, 0.0
    frame["unexplained_l"] = [900.0 * share if s.day == 14 else -12.0 * share for s in starts]
    frame["metered_l"] = frame[["indoor_l", "zones_l", "other_l", "unexplained_l"]].sum(axis=1)
    frame["sd_l"], frame["note"] = 30.0 * share, ""
    return frame


def finding(**over: object) -> Finding:
    values: dict[str, object] = {
        "kind": "stuck_open",
        "meter": "house",
        "zone": "hedge",
        "group": ("hedge",),
        "since": datetime(2026, 7, 14, 4, 0, tzinfo=UTC),
        "until": datetime(2026, 7, 15, 12, 0, tzinfo=UTC),
        "rate_lph": 48.0,
        "volume": volume(1550, 200),
        "strength": "strong",
        "score": 9.4,
        "evidence": ("The night of 14 July took 900 L more than every other night.",),
        "check_first": "Open and close the valve by hand and look for grit.",
        "caution": "Shut the water before opening a valve.",
        "rivals": (Rival("one_off", None, (), "A large fill on both days would look the same."),),
        "cost": Figure(6.2, "money", 5.4, 7.0),
    }
    return Finding(**(values | over))  # type: ignore[arg-type]


def zone_month(code: str, name: str, need: float, applied: float) -> ZoneMonth:
    return ZoneMonth(
        zone=code,
        name=name,
        hand=False,
        need=volume(need, need * 0.1),
        effective_rain=volume(need * 0.04),
        applied=volume(applied, applied * 0.08),
        percolated=volume(max(applied - need, 0.0)),
        excess=volume(max(applied - need, 0.0)),
        saved=volume(need / 0.7 - applied, 60),
        ran_days=2,
        missed_days=2 if code == "tubs" else 0,
        unvouched_days=14,
        stress_days=3 if code == "tubs" else 0,
        sentence=f"{name} got {applied:.0f} L.",
    )


def month(**over: object) -> MonthReview:
    days = days_frame()
    metered = days[days.kind == "metered"]
    parts = [
        PartUse(part, ZONES.get(part.removeprefix("zone:"), part), volume(float(litres), 40))
        for part, litres in metered.groupby("part").volume_l.sum().items()
    ]
    values: dict[str, object] = {
        "month": "2026-07",
        "first": date(2026, 7, 1),
        "last": date(2026, 7, 31),
        "as_of": datetime(2026, 8, 3, tzinfo=UTC),
        "household": "The Quince House <b>",
        "system": "us",
        "currency": "$",
        "time_zone": "America/Denver",
        "metered_through": datetime(2026, 7, 29, 6, tzinfo=UTC),
        "sentences": ("July took 25,400 L.", "1,550 L of it nobody can explain."),
        "used": volume(25_400, 300),
        "cost": Figure(41.2, "money", 40.0, 42.4, (Line("tier 1", 14.6, "money", "your tariff"),)),
        "saved": volume(-400, 900),
        "saved_money": Figure(-1.1, "money"),
        "unexplained": volume(1550, 260),
        "missed": Figure(2, "days"),
        "unvouched": Figure(14, "days"),
        "stress": Figure(3, "days"),
        "parts": tuple(parts),
        "zones": tuple(
            zone_month(code, name, 2900 + 300 * i, 2300 + 900 * i) for i, (code, name) in enumerate(ZONES.items())
        ),
        "zone_names": dict(ZONES),
        "findings": (finding(), finding(kind="one_off", zone=None, group=(), strength="fair")),
        "care_due": (
            DueItem("filter", "Rinse the filter", date(2026, 7, 28), -6, date(2026, 4, 28), "Overdue by 6 days."),
        ),
        "next_steps": (NextStep("Look at the valve of the hedge.", "meter", 2.0),),
        "cannot_know": ("With daily readings a leak under 1 L/h can hide.",),
        "days": days,
        "intervals": intervals_frame(),
        "zone_days": zone_days_frame(),
        "plant_days": plant_days_frame(),
        "weather_days": weather_days_frame(),
    }
    return MonthReview(**(values | over))  # type: ignore[arg-type]
