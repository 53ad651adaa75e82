"""Write it down: a reading, rain, a run, other use, care; and what was written lately."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from core.book.kinds import MeterReading, OtherUse, Planting, Rain, Record, Run, Task, Upkeep, Zone
from core.book.store import Book, Stored
from dashboard import data
from dashboard.parts.describe import Names
from dashboard.parts.fields import Setting
from dashboard.parts.forms import RecordForm
from dashboard.parts.go import garden_link, link
from dashboard.parts.quick import rain_form, reading_form
from dashboard.parts.recent import recent_list
from dashboard.parts.say import sentence, show_told, turn
from dashboard.parts.setting import setting_of
from dashboard.parts.store import offer, pending

WHAT = {"reading": "Meter reading", "rain": "Rain", "run": "A run", "other": "Other use", "care": "Care"}
RECENT: tuple[type[Record], ...] = (MeterReading, Rain, Run, OtherUse, Upkeep)
MOST, EACH = 8, 4  # in the list, and of one kind, so that an import of one kind leaves room for the others


def main() -> None:
    book = data.book()
    setting = setting_of(book)
    names = setting.refs
    st.header("Write it down")
    what = st.segmented_control(
        "What do you write down?",
        list(WHAT),
        default="reading",
        format_func=lambda w: WHAT[w],
        key="what",
        required=True,
        bind="query-params",
    )
    show_told()
    if what == "rain":
        rain_form(book, setting, names)
    elif what == "run":
        run_form(book, setting, names)
    elif what == "other":
        other_form(book, setting, names)
    elif what == "care":
        care_form(book, setting, names)
    else:
        reading_form(book, setting, names)
    st.subheader("Written lately")
    entries = recent(book)
    if not entries:
        sentence("Nothing yet. What you store will stand here, to be put right or removed.")
    recent_list(book, entries, setting, names)
    link("files", "All changes, and taking them back")


def recent(book: Book) -> list[Stored[Record]]:
    """The entries of quick kinds that were written or changed last."""
    found = [stored for kind in RECENT for stored in book.latest(kind, EACH)]
    return sorted(found, key=lambda s: s.change_set, reverse=True)[:MOST]


def run_form(book: Book, setting: Setting, names: Names) -> None:
    """A run that happened, or one that did not."""
    if not needs(book, Zone, "A run needs a zone. Write the zones down first.", "zone"):
        return
    sentence("A run you know of, or know did not happen. Without a time it stands for all runs of that day.", "small")
    form = turn("run")
    start = {"at": data.present_moment(book)}
    fields = RecordForm(Run, form, setting, start)
    with st.form(form, border=False):
        fields.draw(("zone", "ran", "at", "duration", "why"))
        sent = st.form_submit_button("Store the run", type="primary")
    if sent and (record := fields.read()):
        offer(book, record, names, "run")
    pending(book, names, "run")


def other_form(book: Book, setting: Setting, names: Names) -> None:
    """Water used for something else than the house or a program."""
    sentence("Hose, pool, washing down: what the meter counted and no program gave.", "small")
    form = turn("other")
    meters = list(names.get("meter", {}))
    start = {"start": data.present_moment(book), "meter": meters[0] if meters else None}
    grown = {s.record.code: s.record.name for s in book.records(Planting)}
    fields = RecordForm(OtherUse, form, replace(setting, options={**setting.options, "planting": grown}), start)
    with st.form(form, border=False):
        fields.draw(("what", "volume", "start", "meter", "zone"))
        with st.expander("More, where you know it"):
            fields.draw(("planting", "end", "every_days", "spread"))
        sent = st.form_submit_button("Store the use", type="primary")
    if sent and (record := fields.read()):
        offer(book, record, names, "other")
    pending(book, names, "other")


def care_form(book: Book, setting: Setting, names: Names) -> None:
    """Care that was done."""
    if not needs(book, Task, "There is no task yet. Choose tasks on the care page.", "care"):
        return
    form = turn("care")
    fields = RecordForm(Upkeep, form, setting, {"day": data.today(book)})
    with st.form(form, border=False):
        fields.draw_all(leave=("nth",), first=("task", "day", "zone", "note"))
        sent = st.form_submit_button("Store as done", type="primary")
    if sent and (record := fields.read()):
        offer(book, record, names, "care")
    pending(book, names, "care")


def needs(book: Book, kind: type[Record], words: str, where: str) -> bool:
    """Whether there is a record of a kind; otherwise say what to write down first, and where."""
    if data.names(book, kind):
        return True
    sentence(words)
    if where == "care":
        link("care", "To care and season")
    else:
        garden_link("To the garden", where)
    return False


main()
