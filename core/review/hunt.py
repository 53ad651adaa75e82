"""A leak hunt read from its leak tests: what each step showed, where the leak is so far, and the next step.

A hunt begins with a test with everything off; the tests after it, up to the next such test, belong to it. Each step
shuts one thing, so its rate is held against the first. The difference of two floored readings is within one step of
the register on either side of the truth, and every verdict here holds for the whole of that range.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any, Literal

import pandas as pd

from core.accounts.flow import zone_flows
from core.accounts.leaktest import leak_test_rates, wait_hours
from core.book.frames import Frames
from core.care.installed import holds_on
from core.care.leak_hunt import Code, Place
from core.figures import NINETY
from core.units import to_base

Verdict = Literal["", "stopped", "less", "same", "more", "unsure", "void"]
FIRST_WAIT_H = 2.0  # EPA WaterSense
NIGHT_H = 10.0  # as long as a household goes without water unasked; common practice, no source
LAPSES = timedelta(days=14)  # a leak and a memory of what was shut change: later tests begin a hunt of their own
LEAST_WAIT_H = 0.25  # utilities print from 15 to 20 minutes (Pinellas Park)
RUN_H = 1 / 6  # ten minutes (Charlotte)
SURE_STEPS = 3.0  # so many steps size a leak to a third
ALMOST = 1e-9


@dataclass(frozen=True, slots=True)
class Trial:
    """One leak test: what was shut (or, for "run", which zone ran), and the rate with its bounds, litres an hour.

    ``verdict`` is against the first test of its hunt: it stopped, became less, went on the same, became more, the
    wait was too short to tell ("unsure"), or the register went back ("void").
    """

    code: Code
    zone: str | None
    at: datetime
    hours: float
    volume_l: float
    rate_lph: float
    low_lph: float
    high_lph: float
    step_l: float
    verdict: Verdict = ""

    @property
    def void(self) -> bool:
        return self.rate_lph != self.rate_lph


@dataclass(frozen=True, slots=True)
class NextTest:
    """The step to make next and how long to wait in it."""

    code: Code
    zone: str | None
    hours: float


@dataclass(frozen=True)
class Setting:
    """What a hunt at one meter needs to know.

    Attributes:
        step_l: smallest step of the register, litres.
        valves: code and name of each zone with a valve behind this meter.
        flows: zone to (litres an hour, relative sd) by the book.
        static_kpa, drip_kpa: pressure before and after the regulator, None where not written down.
        seek_lph: rate of the leak that is looked for, where the readings suggest one. A register that stood still for
            less time than it needs to show that leak clears nothing.
    """

    meter: str
    step_l: float
    valves: tuple[tuple[str, str], ...] = ()
    flows: Mapping[str, tuple[float, float]] | None = None
    static_kpa: float | None = None
    drip_kpa: float | None = None
    seek_lph: float | None = None

    @property
    def names(self) -> dict[str, str]:
        return dict(self.valves)


@dataclass(frozen=True)
class Hunt:
    """One hunt as far as it is.

    Attributes:
        base: the test with everything off, None before there is one.
        tests: all its tests with their verdicts, in the order made.
        place, zone: where the leak is so far; ``sure`` once no step could change that.
        next: the step to make next, None when the hunt is at its end.
    """

    base: Trial | None
    tests: tuple[Trial, ...]
    place: Place
    zone: str | None
    sure: bool
    next: NextTest | None

    def latest(self, code: Code, zone: str | None = None) -> Trial | None:
        """The latest test of a step."""
        return next((t for t in reversed(self.tests) if t.code == code and t.zone == zone), None)


def hunt_setting(frames: Frames, meter: str, day: date, seek_lph: float | None = None) -> Setting:
    """The setting of a hunt at a meter, from the book's frames, on a local day."""
    row = _row(frames["meter"], meter)
    zones = frames["zone"]
    behind = zones[(zones["supply"] == row["supply"]) & ~zones["hand"]]
    valves = tuple(
        (z["code"], z["name"])
        for z in behind.to_dict("records")
        if row["counts"] != "house" and holds_on(_day(z["since"]), _day(z["until"]), day)
    )
    flows = zone_flows(zones, frames["emitter_group"], frames["flow_test"], frames["supply"])
    stamp = pd.Timestamp(day)
    flows = flows[flows["flow_lph"].notna()]
    held = flows[
        (flows["since"].isna() | (flows["since"] <= stamp)) & (flows["until"].isna() | (flows["until"] > stamp))
    ]
    supply = _row(frames["supply"], row["supply"])
    return Setting(
        meter=meter,
        step_l=_step(frames, row, pd.Timestamp(day + timedelta(days=1), tz="UTC")) * to_base(1, row["unit"], "volume"),
        valves=valves,
        flows={
            z: (float(f), float(s)) for z, f, s in zip(held["zone"], held["flow_lph"], held["sd_share"], strict=True)
        },
        static_kpa=_known(supply["static_pressure_kpa"]),
        drip_kpa=_known(supply["drip_pressure_kpa"]),
        seek_lph=seek_lph,
    )


def hunts_at(frames: Frames, setting: Setting) -> list[Hunt]:
    """All hunts at a meter, the latest last."""
    meter, tests = _row(frames["meter"], setting.meter), frames["leak_test"]
    tests = tests[tests["meter"] == setting.meter]
    steps = pd.Series([_step(frames, meter, at) for at in tests["at"]], index=tests.index, dtype=float)
    made: list[Trial] = []
    for step in steps.unique():  # each by the step its register was read to then
        rates = leak_test_rates(tests[steps == step], pd.DataFrame([{**meter, "resolution": step}]))
        made += _tests(rates, float(step) * to_base(1, meter["unit"], "volume"))
    return hunts(sorted(made, key=lambda test: test.at), setting)


def _step(frames: Frames, meter: dict[Hashable, Any], at: pd.Timestamp) -> float:
    """The step the register was read to at an instant, in its unit: that of the latest reading, by eye if there is one,
    for a register read finer since its meter was written down shows a leak that much sooner.
    """
    rows = frames["meter_reading"]
    rows = rows[(rows["meter"] == meter["code"]) & (rows["at"] <= at) & (rows["how"] != "estimated")]
    by_eye = rows[rows["how"] == "eye"]
    latest = (by_eye if len(by_eye) else rows).sort_values("at", kind="stable").tail(1)["resolution"].dropna()
    return float(latest.iloc[0]) if len(latest) else float(meter["resolution"])


def hunts(tests: Iterable[Trial], setting: Setting) -> list[Hunt]:
    """Hunts of one meter from its tests in order of time."""
    groups: list[list[Trial]] = []
    for test in tests:
        if not groups or test.code == "off" or test.at - groups[-1][0].at > LAPSES:
            groups.append([])
        groups[-1].append(test)
    return [_hunt(group, setting) for group in groups]


def standing(found: list[Hunt], now: datetime, setting: Setting) -> tuple[Hunt, list[Hunt]]:
    """The hunt that goes on now, begun or not, and those before it, the latest first.

    What is looked for now was not looked for then, so those before stand as they were made.
    """
    goes_on = bool(found) and now - found[-1].tests[0].at <= LAPSES
    then = replace(setting, seek_lph=None)
    earlier = [_hunt(list(h.tests), then) for h in (found[:-1] if goes_on else found)]
    return found[-1] if goes_on else _hunt([], setting), earlier[::-1]


def judged(test: Trial, base: Trial | None, setting: Setting) -> Verdict:
    """What a test says against the first of its hunt; "" while there is nothing to hold it against."""
    if test.void:
        return "void"
    if test.code == "run":
        return _run_verdict(test, base, setting)
    if test.code == "off" or base is None or base.void or base.low_lph <= 0:
        return ""
    if test.high_lph <= base.low_lph * (1 + ALMOST):
        return "stopped" if test.volume_l == 0 else "less"
    if test.volume_l == 0:
        return "unsure"
    return "more" if test.low_lph >= base.high_lph * (1 - ALMOST) else "same"


def first_wait_h(setting: Setting) -> float:
    """How long to wait with everything off: two hours, or as long as a suspected leak needs to be sized to a third, but
    no longer than a night.
    """
    return min(max(FIRST_WAIT_H, sizing_wait_h(setting)), NIGHT_H)


def sizing_wait_h(setting: Setting) -> float:
    """After how long a suspected leak is sized to a third; 0 where none is."""
    return _quarters(wait_hours(setting.step_l, setting.seek_lph, SURE_STEPS)) if setting.seek_lph else 0.0


def _hunt(tests: list[Trial], setting: Setting) -> Hunt:
    base = tests[0] if tests and tests[0].code == "off" else None
    seen = tuple(replace(t, verdict=judged(t, base, setting)) for t in tests)
    place, zone, sure, code, of = _where(base, seen, setting)
    following = NextTest(code, of, _wait(code, of, base, setting)) if code else None
    return Hunt(base, seen, place, zone, sure, following)


Found = tuple[Place, str | None, bool, Code | None, str | None]


def _where(base: Trial | None, seen: tuple[Trial, ...], setting: Setting) -> Found:
    verdicts = {(t.code, t.zone): t.verdict for t in seen}
    codes = [code for code, _ in setting.valves]
    broken = next((z for z in codes if verdicts.get(("run", z)) == "more"), None)
    if base is None:
        return ("line", broken, True, None, None) if broken else ("open", None, False, "off", None)
    if base.volume_l == 0 and broken:
        return "line", broken, True, None, None
    hidden = bool(setting.seek_lph) and base.high_lph > (setting.seek_lph or 0.0) * (1 + ALMOST)
    if base.void or (base.low_lph <= 0 and (base.volume_l > 0 or hidden)):
        return "unsure", None, False, "off", None
    if base.volume_l == 0:
        untimed = next((z for z in codes if verdicts.get(("run", z), "unsure") in ("unsure", "void")), None)
        return "nothing", None, untimed is None, "run" if untimed else None, untimed
    return _split(verdicts, codes)


def _split(verdicts: dict[tuple[Code, str | None], Verdict], codes: list[str]) -> Found:
    """Where the water goes, from the house valve and the drip line's head."""
    told = ("stopped", "less", "same")
    house, head = verdicts.get(("house", None), ""), verdicts.get(("manifold", None), "")
    if head == "stopped":
        return _in_garden(verdicts, codes)
    if house not in told:
        return "several" if head == "less" else "moving", None, False, "house", None
    if not codes or head in told:
        if "less" in (house, head):
            return "several", None, True, None, None
        return ("inside" if house == "stopped" else "service"), None, True, None, None
    place: Place = "inside" if house == "stopped" else "several" if house == "less" else "moving"
    return place, None, False, "manifold", None


def _in_garden(verdicts: dict[tuple[Code, str | None], Verdict], codes: list[str]) -> Found:
    found = {z: verdicts.get(("zone", z), "") for z in codes}
    stopped = next((z for z, v in found.items() if v == "stopped"), None)
    if stopped:
        return "zone", stopped, True, None, None
    less = next((z for z, v in found.items() if v == "less"), None)
    following = next((z for z, v in found.items() if v in ("", "unsure", "void", "more")), None)
    if following is None:
        return ("several", less, True, None, None) if less else ("manifold", None, True, None, None)
    return ("several" if less else "garden"), less, False, "zone", following


def _wait(code: Code, zone: str | None, base: Trial | None, setting: Setting) -> float:
    if code == "run":
        flow = (setting.flows or {}).get(zone or "", (0.0, 0.0))[0]
        return max(RUN_H, wait_hours(setting.step_l, flow, 10) if flow else 0.0)
    if base is None or base.void:
        return first_wait_h(setting)
    after_a_night = base.hours >= NIGHT_H * (1 - ALMOST)  # which told nothing: only a longer wait can
    if base.volume_l == 0:
        least = wait_hours(setting.step_l, setting.seek_lph) if setting.seek_lph else 0.0
        return max(first_wait_h(setting), _quarters(least) if after_a_night else 0.0)
    if code == "off":  # it moved by one step only: too little to hold anything against
        wanted = _quarters(max(FIRST_WAIT_H, wait_hours(setting.step_l, base.rate_lph, SURE_STEPS)))
        return wanted if after_a_night else min(wanted, NIGHT_H)
    return _quarters(max(LEAST_WAIT_H, wait_hours(setting.step_l, base.low_lph)))


def _run_verdict(test: Trial, base: Trial | None, setting: Setting) -> Verdict:
    flow, share = (setting.flows or {}).get(test.zone or "", (0.0, 0.0))
    if not flow:
        return ""
    leak = (base.low_lph, base.high_lph) if base and not base.void else (0.0, 0.0)
    low, high = test.low_lph - leak[1], test.high_lph - leak[0]
    if low > flow * (1 + NINETY * share):
        return "more"
    if high < flow * (1 - NINETY * share):
        return "less"
    return "unsure" if high - low > flow else "same"


def _tests(rates: pd.DataFrame, step_l: float) -> list[Trial]:
    found = []
    for row in rates.to_dict("records"):
        zone = None if pd.isna(row["zone"]) or row["zone"] == "" else str(row["zone"])
        codes: dict[str, Code] = {"nothing": "run" if zone else "off", "house": "house", "manifold": "manifold"}
        code = codes.get(str(row["shut"]), "zone")
        if code == "zone" and zone is None:
            continue  # shut a zone, but which one was not written down
        found.append(
            Trial(
                code,
                zone if code in ("zone", "run") else None,
                row["at"].to_pydatetime(),
                float(row["hours"]),
                float(row["volume_l"]),
                float(row["rate_lph"]),
                float(row["low_lph"]),
                float(row["high_lph"]),
                step_l,
            )
        )
    return found


def _row(frame: pd.DataFrame, code: str) -> dict[Hashable, Any]:
    return frame[frame["code"] == code].to_dict("records")[0]


def _quarters(hours: float) -> float:
    """Rounded up to a quarter of an hour."""
    return -(-round(hours * 4, 6) // 1) / 4


def _day(stamp: pd.Timestamp) -> date | None:
    return None if pd.isna(stamp) else stamp.date()


def _known(value: float) -> float | None:
    return None if pd.isna(value) else float(value)
