"""Leak hunt: find where water goes, one valve at a time, by the meter alone."""

from __future__ import annotations

from datetime import timedelta

import pandas as pd
import streamlit as st

from core.accounts.findings import Finding
from core.accounts.leaktest import under_read_note
from core.book.kinds import LeakTest, Meter, Zone
from core.book.store import Book
from core.care.leak_hunt import EXCLUDED, TOILET_HINT, TOILET_LEVEL, advice, to_rest
from core.review.decide import SETTLED
from core.review.hunt import Hunt, Setting, first_wait_h, hunt_setting, hunts_at, standing
from core.review.hunt_words import HOLE_SOURCE, conclusion, drip_words, hole_of, leak_lph, seek_words, sees, to_see
from core.review.tell import finding_dates
from core.units import System, show, spanned
from dashboard import data
from dashboard.parts.drawing import show_table
from dashboard.parts.go import garden_link, link
from dashboard.parts.hunt_steps import Ground, walk
from dashboard.parts.hunt_wait import sought, waiting
from dashboard.parts.say import sentence, show_told
from dashboard.parts.suspect import HUNTED
from dashboard.words import day_words, finding_words, month_words, plain


def main() -> None:
    book = data.book()
    system = data.system(book.home())
    st.header("Leak hunt")
    show_told()
    meters = {s.record.code: s.record for s in book.records(Meter)}
    if not meters:
        sentence("A leak hunt reads the meter, and no meter is in the book yet.", "large")
        garden_link("Write down the meter", "meter")
        return
    meter = _chosen(meters)
    frames = book.frames(data.present())
    seek = sought(book, meter.code, data.present()) or suspected(book, meter.code)
    setting = hunt_setting(frames, meter.code, data.today(book), seek)
    hunt, earlier = standing(hunts_at(frames, setting), data.present(), setting)
    where(book, hunt, earlier, setting, system)
    back(book, meter.code)
    if hunt.base is None:
        before_you_begin(book, setting, system)
    walk(Ground(book, meter, setting, hunt, system, first_wait_h(setting)))
    if hunt.base is not None:
        with st.expander("What has to rest while you wait"):
            _rest(book)
    register(setting, system)
    past(book, earlier, setting, system)


def suspected(book: Book, meter: str) -> float | None:
    """Rate of the greatest leak the readings suggest now, so that every way to this page leads to the same wait."""
    going_on = [f for f in data.findings(book, meter) if f.kind in HUNTED and f.until is None and _open(f)]
    return max((abs(f.rate_lph) for f in going_on if f.rate_lph and f.strength != "weak"), default=None)


def _open(finding: Finding) -> bool:
    return finding.decision not in SETTLED or finding.contradicted


def where(book: Book, hunt: Hunt, earlier: list[Hunt], setting: Setting, system: System) -> None:
    """Where the leak is so far, how big a hole that would be, and what to do there."""
    wait = waiting(book, setting.meter) if hunt.base is None else None
    if wait is None and not hunt.tests and earlier:
        begun = day_words(earlier[0].tests[0].at.astimezone(book.zone_info))
        sentence(f"The hunt of {begun}: {_said(earlier[0], setting, system)}", "large")
        sentence("It is too old to go on with. To hunt anew, begin with everything off.")
    elif wait is None:
        sentence(conclusion(hunt, setting, system), "large")
    elif data.present() < wait.since.utc + timedelta(hours=first_wait_h(setting)):
        sentence("The first wait is on: leave everything off.", "large")
    else:
        sentence("The first wait is over: read the register again.", "large")
    if hunt.base is None:
        sentence(
            "Everything off, read, wait, read; then one valve after the other. You can stop at any step and go on."
        )
    leak = leak_lph(hunt, setting)
    hole = hole_of(hunt, setting)
    if leak and hole:
        sentence(f"{hole.words(system)} {drip_words(sum(leak) / 2)}".strip())
        with st.expander("How we know", key="hole"):
            pressure = hole.pressure_words(system)
            flow = spanned(*(show(rate, "flow", system) for rate in leak))
            st.markdown(plain(f"Flow {flow}, pressure {pressure}. {HOLE_SOURCE}"))
            st.markdown(plain(under_read_note(system)))
            if hole.assumed:
                garden_link("Write down the pressure of the supply", "supply")
    words, caution = advice(hunt.place)
    if words:
        with st.container(border=True, key="what-to-do"):
            st.markdown(f"**What to do there:** {plain(words)}")
            if hunt.place == "inside":
                st.markdown(f"**Toilet:** {plain(TOILET_HINT)} {plain(TOILET_LEVEL)}")
            st.markdown(f"**Mind:** {plain(data.mind(book, caution))}")


def back(book: Book, meter: str) -> None:
    """The way back to each finding a hunt is for, in the month the reader came from or else its last."""
    zone, now = book.zone_info, data.present()
    names = data.names(book, Zone)
    for finding in data.findings(book, meter):
        if not _open(finding) or not (finding.hunt or (finding.kind in HUNTED and finding.until is None)):
            continue
        first, last = (f"{t.astimezone(zone):%Y-%m}" for t in (finding.since, finding.until or now))
        asked = st.query_params.get("month", "")
        month = asked if first <= asked <= last else last
        words = f"{finding_words(finding, names)}, {finding_dates(finding, zone)}"
        link("month", f"Back to {words[:1].lower()}{words[1:]} ({month_words(month)})", month=month)


def before_you_begin(book: Book, setting: Setting, system: System) -> None:
    """What has to be put to rest, and what is looked for."""
    with st.container(border=True, key="before"):
        st.markdown("**Before you begin**")
        _rest(book)
        if setting.seek_lph:
            sentence(seek_words(setting, system))


def _rest(book: Book) -> None:
    for line in to_rest(book.home()):
        st.markdown(f"- {plain(line)}")
    st.caption(plain(f"Sources: {EXCLUDED}."))


def register(setting: Setting, system: System) -> None:
    """What this register can and cannot see."""
    st.subheader("What this register can see")
    sentence(f"It moves in steps of {show(setting.step_l, 'volume', system, 1)}; a slower leak needs a longer wait.")
    rows = [{"Wait": wait, "It is sure to show": rate} for wait, rate in sees(setting, system)]
    show_table(pd.DataFrame(rows))
    sentence(f"{to_see(setting, system)} The smallest rate is one step of the register over the hours waited.", "small")


def past(book: Book, earlier: list[Hunt], setting: Setting, system: System) -> None:
    """Hunts made before, the latest first."""
    if not earlier:
        return
    with st.expander(f"Earlier hunts ({len(earlier)})", key="earlier"):
        zone = book.zone_info
        rows = [
            {
                "Begun": day_words(h.tests[0].at.astimezone(zone)),
                "Tests": len(h.tests),
                "Found": _said(h, setting, system),
            }
            for h in earlier
        ]
        show_table(pd.DataFrame(rows))
        garden_link(f"All {len(book.records(LeakTest))} leak tests as written down", "leak_test")


def _said(hunt: Hunt, setting: Setting, system: System) -> str:
    return conclusion(hunt, setting, system) if hunt.base else "No test with everything off."


def _chosen(meters: dict[str, Meter]) -> Meter:
    asked = st.query_params.get("meter", "")
    codes = list(meters)
    if len(codes) == 1:
        return meters[codes[0]]
    code = st.selectbox(
        "Which meter",
        codes,
        index=codes.index(asked) if asked in codes else 0,
        format_func=lambda c: meters[c].name,
        key="hunt-meter",
        width=320,
    )
    return meters[code]


main()
