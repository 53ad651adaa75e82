"""Programs that fit keep to every limit of controller, local rule and supply, whatever these are."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.notation import parse_days
from core.review.fitting import FittingMonth, fitting_month
from core.review.picture import Picture, draw
from tests.core.review.gardens import begin, drip, normals, pot, program, shrubs, zone

NOW = datetime(2026, 7, 15, 18, tzinfo=UTC)
FORMS = st.sets(st.sampled_from(["weekdays", "odd-even", "every-n"]), min_size=1).map(", ".join)
DAYS = st.sampled_from(["", "mon wed fri", "tue sat", "odd", "even", "sun"])
HOURS = st.sampled_from(["", "18:00-10:00", "05:00-09:00", "22:00-23:30"])
_SEEN: dict[str, Picture] = {}


@settings(deadline=None, max_examples=40)
@given(
    forms=FORMS, allowed=DAYS, hours=HOURS, starts=st.integers(1, 6), longest=st.integers(5, 300),
    flow=st.floats(5, 2000), soil=st.sampled_from(["clay", "loam", "sand"]), et=st.floats(0.5, 12),
)  # fmt: skip
def test_the_fitting_program_honours_every_limit(
    tmp_path_factory: pytest.TempPathFactory,
    forms: str, allowed: str, hours: str, starts: int, longest: int, flow: float, soil: str, et: float,
) -> None:  # fmt: skip
    """Whatever the controller and the local rule allow: nothing outside it, and what cannot be met is said."""
    if not _SEEN:
        folder = tmp_path_factory.mktemp("limits")
        plants = (shrubs(), shrubs("pots", "tall"), pot("pots"))
        emitters = (drip(), drip("pots", waters="tall:3 pot:1"))
        _SEEN["p"] = draw(begin(folder, zone(), zone("pots"), *plants, *emitters, program(), *normals()), NOW)
    seen, frames = _SEEN["p"], _SEEN["p"].frames
    box = frames["controller"].assign(
        day_choice=forms, allowed_days=allowed, allowed_hours=hours, max_starts=starts, max_minutes=longest
    )
    picture = replace(
        seen,
        frames={
            **{k: frames[k] for k in frames}, "controller": box,
            "planting": frames["planting"].assign(soil=lambda f: f["soil"].where(f["in_pots"], soil)),
            "normal": frames["normal"].assign(reference_et_mm=et * 31),
        },  # type: ignore[arg-type]
        flows=seen.flows.assign(flow_lph=flow),
    )  # fmt: skip
    found = fitting_month(picture, 7)
    for z in found.zones:
        fit = z.fit
        if fit is None:
            assert "cannot be set to any days" in z.note
            continue
        assert z.starts is not None
        assert fit.starts == len(z.starts.times) <= starts
        assert 1 <= fit.minutes <= longest
        assert isinstance(fit.minutes, int)
        form = {"odd": "odd-even", "even": "odd-even", "every": "every-n"}.get(fit.days.form, fit.days.form)
        assert form in forms
        year = [NOW.date() + timedelta(days=n) for n in range(364)]
        if allowed:
            assert all(parse_days(allowed).waters_on(d) for d in year if fit.days.waters_on(d))
        assert z.demand is not None
        given = sum(fit.days.waters_on(d) for d in year) * fit.starts * fit.minutes * flow / 60
        enough = (
            given >= 0.96 * 364 * z.demand.need.litres_a_day or fit.minutes * fit.starts * flow / 60 < flow / 60 * 2
        )
        gap_held = fit.longest_gap <= max(1.0, z.demand.need.lasts_days)
        assert z.risk or (enough and gap_held)
        if hours and not found.conflicts:
            opens, closes = (parse_clock(h) for h in hours.split("-"))
            length = (closes - opens) % 1440
            for t in z.starts.times:
                assert (t.hour * 60 + t.minute - opens) % 1440 + fit.minutes <= length
    assert not overlapping(found) or found.conflicts


def parse_clock(text: str) -> int:
    clock = time.fromisoformat(text)
    return clock.hour * 60 + clock.minute


def overlapping(found: FittingMonth) -> bool:
    """Whether two runs of a fortnight share a minute."""
    spans = []
    for day in pd.date_range("2026-07-01", periods=14):
        for z in found.zones:
            if z.fit is not None and z.starts is not None and z.fit.days.waters_on(day.date()):
                begins = [day + pd.Timedelta(hours=t.hour, minutes=t.minute) for t in z.starts.times]
                spans += [(b, b + pd.Timedelta(minutes=z.fit.minutes)) for b in begins]
    spans.sort()
    return any(b[0] < a[1] for a, b in pairwise(spans))
