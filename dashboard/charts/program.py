"""Programs that fit beside those set, and a trip's days: what runs dry when."""

from __future__ import annotations

import altair as alt
import pandas as pd

from core.review.away import Away, PlantingAway
from core.review.fitting import FittingMonth, ZoneFit
from core.review.fitting_told import off_by
from core.review.spoken import counted, listed
from core.units import show
from dashboard.charts.base import AXIS, Drawing, Look, round_table, row_axis, spec_of, wrapped
from dashboard.words import day_words


def beside_drawing(month: FittingMonth, look: Look) -> Drawing:
    """Each zone's water in the month by the program that fits and by the one set."""
    zones = [z for z in month.zones if z.fit_l is not None and (z.fit is not None or (z.set_l and not z.paused))]
    if not zones:
        return Drawing("No zone needs a program then", "Nothing to draw yet.", None, pd.DataFrame())
    unit, when = look.unit("volume"), when_words(month)
    frame = pd.DataFrame(
        {
            "zone": [z.zone for z in zones],
            "name": [z.name for z in zones],
            "row": [wrapped(z.name) for z in zones],
            "fits": [z.fit_l or 0.0 for z in zones],
            "set": [z.gives_l for z in zones],
        }
    )
    title = _beside_title(zones, look, when)
    for column in ("fits", "set"):
        frame[column] = look.values(frame[column].astype(float), "volume")
    frame["spoken"] = [f"{r.name}: fits {r.fits:,.0f} {unit}, {when} {r.set:,.0f} {unit}" for r in frame.itertuples()]
    text = f"{title}. For each zone a bar of what {when} gives and a mark at what fits. The table has each zone."
    y = alt.Y("row:N", sort=list(frame["row"]), title=None, axis=row_axis())
    tips = [
        alt.Tooltip("name:N", title="Zone"),
        alt.Tooltip("fits:Q", title=f"Fits, {unit}", format=",.0f"),
        alt.Tooltip("set:Q", title=f"{when}, {unit}", format=",.0f"),
    ]
    shared = {"y": y, "tooltip": tips, "description": alt.Description("spoken:N")}
    shade = alt.Color(
        "zone:N", scale=alt.Scale(domain=list(look.shades), range=list(look.shades.values())), legend=None
    )
    base = alt.Chart()
    chart = spec_of(
        base.mark_bar(size=16).encode(
            x=alt.X("zero:Q", title=f"{unit} in {month.first:%B}", axis=alt.Axis(tickCount=5)),
            x2="set:Q",
            color=shade,
            **shared,
        ),
        base.mark_tick(color=look.palette.need, thickness=4, size=30).encode(x="fits:Q", **shared),
        data=frame.assign(zero=0.0),
        height=44 * len(frame) + AXIS,
        description=text,
        ink=look.palette.ink,
    )
    table = frame[["name", "fits", "set"]].set_axis(["Zone", f"Fits, {unit}", f"{_up(when)}, {unit}"], axis=1)
    middle = list(look.shades.values())[len(look.shades) // 2]
    key = ((f"given {when}", middle, "fill"), ("what fits", look.palette.need, "line"))
    return Drawing(title, text, chart, round_table(table), key)


def when_words(month: FittingMonth) -> str:
    """``as set now`` or ``as set in July 2026``."""
    return "as set now" if month.running else f"as set in {month.looked_at:%B %Y}"


def _furthest(off: list[tuple[str, float]], word: str, look: Look) -> str:
    name, by = off[0]
    others = f", and {counted(len(off) - 1, 'other zone')} {word} too" if len(off) > 1 else ""
    return f"{name} gets {show(abs(by), 'volume', look.system)} {word} than fits{others}"


def _beside_title(zones: list[ZoneFit], look: Look, when: str) -> str:
    """The zones that are furthest off either way, or what is risky although none is; as the boxes below say."""
    if not any(z.gives_l for z in zones):
        return "What is set is paused" if any(z.paused for z in zones) else f"Nothing is {when.removeprefix('as ')}"
    off = off_by((z.name, z.fit_l or 0.0, z.gives_l) for z in zones)
    if off:
        ways = [("less", [z for z in off if z[1] < 0]), ("more", [z for z in off if z[1] > 0])]
        said = [_furthest(zones_off, word, look) for word, zones_off in ways if zones_off]
        return f"{'; '.join(said)}, {when}"
    risky = [z.name for z in zones if z.set_risk]
    return f"Every zone gets about what fits, {when}" + (f", with a risk in {listed(risky)}" if risky else "")


SIGNS = {"enough": "", "short": "–", "under half": "×"}


def away_drawing(trip: Away, look: Look) -> Drawing:
    """One row a planting, one field a day, if the system stops; a dot where it is short though the system runs."""
    known = [p for p in trip.plantings if p.known]
    if not known:
        return Drawing("Nothing is known to grow then", "Nothing to draw yet.", None, pd.DataFrame())
    frame = pd.DataFrame([row for p in known for row in _days(trip, p)])
    full = look.palette.unexplained
    frame["fill"] = frame["state"].map({"enough": "transparent", "short": f"{full}40", "under half": f"{full}b0"})
    title = _away_title(known)
    text = f"{title}. One row for each planting, one field for each day away, if the system stops. " + " ".join(
        p.sentence for p in known
    )
    order = list(dict.fromkeys(frame["row"]))
    last = int(frame["nth"].max())
    x = alt.X(
        "nth:O",
        title=f"day away, from {day_words(trip.start, False)}",
        scale=alt.Scale(domain=list(range(1, last + 1)), paddingInner=0.12),
        axis=alt.Axis(values=[1, *range(5, last + 1, 5)], labelAngle=0, ticks=False),
    )
    y = alt.Y("row:N", sort=order, title=None, axis=row_axis(), scale=alt.Scale(paddingInner=0.25))
    tips = [alt.Tooltip("name:N", title="Plants"), alt.Tooltip("when:N", title="Day"), alt.Tooltip("said:N", title="")]
    shared = {"x": x, "y": y, "tooltip": tips}
    base = alt.Chart()
    chart = spec_of(
        base.mark_rect(stroke=look.palette.faint, strokeWidth=0.6).encode(
            color=alt.Color("fill:N", scale=None, legend=None),
            description=alt.Description("spoken:N"),
            **shared,
        ),
        base.mark_text(color=look.palette.ink, fontSize=12, fontWeight="bold").encode(text="sign:N", **shared),
        base.transform_filter("datum.running")
        .mark_point(shape="circle", filled=True, size=26, color=look.palette.ink, yOffset=9, opacity=1)
        .encode(**shared),
        data=frame,
        height=34 * len(order) + AXIS,
        description=text,
        ink=look.palette.ink,
    )
    table = pd.DataFrame(
        {
            "Plants": [p.name for p in known],
            "If the system runs": [_spoken(p.short_running, p.half_running) for p in known],
            "If it stops": [_spoken(p.short_stopped, p.half_stopped) for p in known],
        }
    )
    key = (
        ("short of water", full, "–"),
        ("less than half of its need", full, "×"),
        ("short even though the system runs", look.palette.ink, "●"),
    )
    return Drawing(title, text, chart, table, key)


def _days(trip: Away, planting: PlantingAway) -> list[dict[str, object]]:
    days = planting.days[planting.days["day"] >= pd.Timestamp(trip.start)]["day"]
    out = []
    for day in days:
        at = day.date()
        half = planting.half_stopped is not None and at >= planting.half_stopped
        short = planting.short_stopped is not None and at >= planting.short_stopped
        state = "under half" if half else "short" if short else "enough"
        said = {"under half": "less than half of its need", "short": "short of water", "enough": "enough water"}[state]
        running = planting.short_running is not None and at >= planting.short_running
        out.append(
            {
                "name": planting.name, "row": wrapped(planting.name), "nth": (at - trip.start).days + 1,
                "when": day_words(day), "state": state, "sign": SIGNS[state], "running": running,
                "said": f"{said} if the system stops" + ("; short even if it runs" if running else ""),
                "spoken": f"{planting.name}, {day_words(day)}: {said}",
            }
        )  # fmt: skip
    return out


def _away_title(known: list[PlantingAway]) -> str:
    stopped = [p for p in known if p.short_stopped is not None]
    if not stopped:
        return "Nothing runs dry while you are away, even if the system stops"
    first = min(stopped, key=lambda p: (p.short_stopped, p.name))
    assert first.short_stopped is not None  # noqa: S101 - it is among those that run short
    return f"If the system stops, plants run short from {day_words(first.short_stopped, False)}, {first.name} first"


def _spoken(short: object, half: object) -> str:
    if short is None:
        return "enough"
    said = f"short from {day_words(short, False)}"  # type: ignore[arg-type]
    return said + (f", under half from {day_words(half, False)}" if half is not None else "")  # type: ignore[arg-type]


def _up(words: str) -> str:
    return words[:1].upper() + words[1:]
