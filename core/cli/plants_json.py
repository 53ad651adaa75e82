"""The plants' month, fitting programs and trips for a script: metric, the unit in every name, nothing rounded."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Any

import pandas as pd

from core.cli.month_json import figure_as_data, plain
from core.review.accept import Write
from core.review.away import Away
from core.review.fitting import FittingMonth, ZoneFit
from core.review.plants import PlantsMonth

FIGURES = ("need", "need_l", "a_day", "each_a_day", "rain", "applied", "percolated", "excess", "short")


def plants_as_data(month: PlantsMonth, *, working: bool = False) -> dict[str, Any]:
    """Everything the plants' month holds. Litres end in _l, depths in _mm; money is in the currency named."""
    return {
        "month": month.month,
        "first": month.first.isoformat(),
        "last": month.last.isoformat(),
        "as_of": month.as_of.isoformat(),
        "currency": month.currency,
        "sentences": list(month.sentences),
        "plantings": [
            {
                "zone": p.zone,
                "planting": p.planting,
                "name": p.name,
                "plant_type": p.plant_type,
                "count": p.count,
                "in_pots": p.in_pots,
                "area_m2": p.area_m2,
                "factor": p.factor,
                **{name: figure_as_data(getattr(p, name), working=working) for name in FIGURES},
                "excess_money": p.excess_money,
                "short_money": p.short_money,
                "too_much": p.too_much,
                "stress_days": p.stress_days,
                "lowest_stress_coefficient": p.lowest_stress,
                "unknown_days": p.unknown_days,
                "begun": p.begun.sentence if p.begun else None,
                "sentence": p.sentence,
            }
            for p in month.plantings
        ],
        "zones": rows(month.zones),
        "weeks": rows(month.weeks),
        "links": [
            {
                "zone": link.zone,
                "missed": _days(link.missed),
                "felt": [
                    {"planting": f.planting, "dry_because_missed": _days(f.caused), "dry_anyway": _days(f.anyway)}
                    for f in link.felt
                ],
                "sentence": link.sentence,
            }
            for link in month.links
        ],
        "mixes": [
            {
                "zone": m.zone,
                "saving_l": m.saving_l,
                "saving_money": m.money,
                "plantings": rows(m.plantings),
                "sentence": m.sentence,
            }
            for m in month.mixes
        ],
        "uniformity": [
            {"zone": e.zone, "day": e.day.isoformat(), "share": e.share, "sentence": e.sentence} for e in month.evenness
        ],
        "weather": list(month.weather),
        "problems": list(month.problems),
    }


def programs_as_data(
    months: tuple[FittingMonth, ...],
    written: tuple[Write, ...] = (),
    number: int | None = None,
    *,
    stored: bool = False,
) -> dict[str, Any]:
    """Programs that fit, month by month, and what was or would be written."""
    return {
        "months": [_month(m) for m in months],
        "writes": [
            {
                "verb": w.verb,
                "zone": w.record.zone,
                "label": w.record.label,
                "since": w.record.since.isoformat(),
                "until": w.record.until.isoformat() if w.record.until else None,
                "days": w.record.days,
                "starts": w.record.starts.split(),
                "minutes": w.record.minutes,
                "words": w.words,
            }
            for w in written
        ],
        "stored": stored,
        "change_set": number,
    }


def away_as_data(trip: Away) -> dict[str, Any]:
    """A trip: each planting's days and the water missing from its soil."""
    return {
        "start": trip.start.isoformat(),
        "last": trip.last.isoformat(),
        "weather": trip.weather,
        "notes": list(trip.notes),
        "sentences": list(trip.sentences),
        "plantings": [
            {
                "zone": p.zone,
                "planting": p.planting,
                "name": p.name,
                "known": p.known,
                **{
                    name: plain(getattr(p, name))
                    for name in ("short_running", "half_running", "short_stopped", "half_stopped")
                },
                "days": rows(p.days),
                "sentence": p.sentence,
            }
            for p in trip.plantings
        ],
    }


def rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """A frame's rows with values JSON knows."""
    return [{str(name): plain(value) for name, value in row.items()} for row in frame.to_dict("records")]


def _month(month: FittingMonth) -> dict[str, Any]:
    return {
        "month": month.month,
        "first": month.first.isoformat(),
        "looked_at": month.looked_at.isoformat(),
        "running": month.running,
        "basis": month.weather.basis,
        "reference_et_mm_day": month.weather.reference_et_mm,
        "rain_mm_day": month.weather.rain_mm,
        "weather": month.weather.words,
        "sentences": list(month.sentences),
        "zones": [_zone(z) for z in month.zones],
        "by_hand": list(month.by_hand),
        "conflicts": list(month.conflicts),
        "set_conflicts": list(month.set_conflicts),
    }


def _zone(z: ZoneFit) -> dict[str, Any]:
    fits = None
    if z.fit is not None and z.starts is not None:
        fits = {
            "days": str(z.fit.days),
            "starts": [f"{t:%H:%M}" for t in z.starts.times],
            "minutes": z.fit.minutes,
            "volume_l_week": z.fit.litres_a_week,
            "longest_gap_days": z.fit.longest_gap,
            "soak_min": z.fit.soak_minutes,
            "risk": z.risk,
        }
    demand = None
    if z.demand is not None:
        demand = {k: plain(v) for k, v in asdict(z.demand.need).items()} | {"plantings": rows(z.demand.plantings)}
    return {
        "zone": z.zone,
        "name": z.name,
        "need_l_day": z.need.value,
        "demand": demand,
        "fits": fits,
        "set": [
            {"label": p.label, "days": str(p.days), "starts": str(p.starts).split(), "minutes": p.minutes}
            for p in z.as_set
        ],
        "fits_l_month": z.fit_l,
        "set_l_month": z.set_l,
        "less_l_month": z.less_l,
        "less_money": z.money,
        "set_risk": z.set_risk,
        "paused": z.paused,
        "note": z.note,
        "sentence": z.sentence,
    }


def _days(days: tuple[date, ...]) -> list[str]:
    return [d.isoformat() for d in days]
