"""Programs that fit beside those set: one box a zone, the risks in words, conflicts, and the year on request."""

from __future__ import annotations

import calendar

import pandas as pd
import streamlit as st

from core.book.store import Book
from core.review.fitting import FittingMonth, ZoneFit
from core.review.outlook import Basis
from core.review.spoken import amount, listed
from core.review.stopping import stops_of
from core.units import System, show
from dashboard import data
from dashboard.charts.program import when_words
from dashboard.parts.drawing import show_table
from dashboard.parts.figure import show_working
from dashboard.parts.plants_data import year_of
from dashboard.parts.say import sentence
from dashboard.words import plain


def show_zones(book: Book, month: FittingMonth, system: System, currency: str) -> None:
    """One box for each zone with a controller: what fits, what is set, and the pauses that hold it off."""
    alike = _alike(month)
    for note, names in alike.items():
        sentence(f"{listed(names)}: {note[:1].lower()}{note[1:]}" if len(names) < len(month.zones) else note)
    for zone in month.zones:
        if zone.fit is None and not zone.as_set and _nothing(month, zone) in alike:
            continue
        with st.container(border=True, key=f"fit-{zone.zone}", gap="small"):
            _box(book, month, zone, system, currency)
    if month.by_hand:
        sentence(f"Watered by hand, without a program: {listed(month.by_hand)}.", "small")


def _alike(month: FittingMonth) -> dict[str, list[str]]:
    """Zones that have neither a program that fits, for the same reason, nor one that is set: said once, not in a box
    each.
    """
    notes: dict[str, list[str]] = {}
    for zone in month.zones:
        if zone.fit is None and not zone.as_set:
            notes.setdefault(_nothing(month, zone), []).append(zone.name)
    return {note: names for note, names in notes.items() if len(names) > 1}


def _nothing(month: FittingMonth, zone: ZoneFit) -> str:
    return f"{zone.note} Nothing is {when_words(month).removeprefix('as ')}."


def show_conflicts(month: FittingMonth) -> None:
    """Too much open at once, and what the local rule forbids: of the programs set, and of those that fit."""
    for title, said in ((f"Conflicts {when_words(month)}", month.set_conflicts), ("Still to solve", month.conflicts)):
        if said:
            st.markdown(f"**{plain(title)}**")
            st.markdown("\n".join(f"- {plain(s)}" for s in said))
    if not month.set_conflicts and not month.conflicts and any(z.fit is not None for z in month.zones):
        sentence(
            "No conflicts: as far as the flow of the supply and the local rule are written down, nothing is open at "
            "once beyond them.",
            "small",
        )


def show_year(book: Book, basis: Basis, system: System) -> None:
    """The twelve months ahead, worked out when asked for."""
    if not st.toggle("Show all twelve months", key="program-year"):
        return
    months = year_of(book, basis)
    names = {z.zone: z.name for m in months for z in m.zones}
    zone = st.pills(
        "Zone", list(names), default=next(iter(names), None), format_func=lambda z: names.get(z, z),
        key="program-year-zone", required=True, label_visibility="collapsed",
    )  # fmt: skip
    rows = [_month_row(m, z, system) for m in months for z in m.zones if z.zone == zone]
    show_table(pd.DataFrame(rows))


def _box(book: Book, month: FittingMonth, zone: ZoneFit, system: System, currency: str) -> None:
    st.markdown(f"**{plain(zone.name)}**")
    fits, now = st.columns(2)
    with fits:
        st.caption("Fits")
        if zone.fit is not None:
            sentence(f"{_up(zone.words)}: {show(zone.fit_l, 'volume', system)} a month")
        else:
            sentence(f"Nothing. {zone.note}" if zone.fit_l is not None else zone.note)
    with now:
        st.caption(plain(_up(when_words(month))))
        words = listed(p.words for p in zone.as_set)
        much = "" if zone.set_l is None else f": {show(zone.set_l, 'volume', system)} a month"
        sentence(f"{_up(words)}{much}" if words else "Nothing.")
        for stopped in stops_of(book, zone.zone, data.today(book)):
            sentence(stopped)
    if zone.less_l is not None and zone.as_set and not zone.paused:
        sentence(_difference(zone, system, currency))
    for who, risk in ((_up(when_words(month)), zone.set_risk), ("The program that fits", zone.risk)):
        if risk:
            st.markdown(f"**Risk.** {plain(who)}: {plain(risk[:1].lower() + risk[1:])}")
    if zone.fit is None:
        return
    if zone.note:
        sentence(zone.note, "small")
    with st.expander("How it was worked out", key=f"fit-working-{zone.zone}"):
        show_working("To apply, a day", zone.need, system, currency)
        if zone.demand is not None:
            show_table(_plants(zone, system))


def _difference(zone: ZoneFit, system: System, currency: str) -> str:
    less = zone.less_l or 0.0
    money = ""
    if zone.money is not None and abs(zone.money) >= 0.005:
        money = f", {amount(abs(zone.money), 'money', system, currency)}"
    word = "less" if less >= 0 else "more"
    return f"Difference: {show(abs(less), 'volume', system)} a month {word}{money}."


def _plants(zone: ZoneFit, system: System) -> pd.DataFrame:
    rows = zone.demand.plantings.to_dict("records") if zone.demand is not None else []
    return pd.DataFrame(
        [
            {
                "Plants": row["name"],
                "Need a day, beyond rain": _small(row["net_l"], system),
                "Gets, before losses": _small(row["given_l"], system),
                "Too much": _small(row["surplus_l"], system),
                "Share of the zone": amount(row["share"], "share", system),
                "Its soil lasts": f"{row['lasts_days']:.1f} days",
            }
            for row in rows
        ]
    )


def _month_row(month: FittingMonth, zone: ZoneFit, system: System) -> dict[str, str]:
    return {
        "Month": calendar.month_name[month.month],
        "Fits": zone.words or zone.note,
        "Gives": show(zone.fit_l, "volume", system) if zone.fit_l is not None else "",
        "As last set": listed(p.words for p in zone.as_set) or "nothing",
        "It got then": _got(month, zone, system),
    }


def _got(month: FittingMonth, zone: ZoneFit, system: System) -> str:
    if zone.gave_l is None:
        return ""
    so_far = " so far" if month.running else f" in {month.looked_at:%Y}"
    return show(zone.gave_l, "volume", system) + so_far if zone.gave_l or zone.as_set else ""


def _small(litres: float, system: System) -> str:
    return show(litres, "volume", system, 1).replace(" ", "\u00a0")


def _up(words: str) -> str:
    return words[:1].upper() + words[1:]
