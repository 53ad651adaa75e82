"""Adding and changing what the garden is made of, with the two verbs: changed on a day, or wrong all along."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Any

import streamlit as st

from core.book.kinds import KINDS, EmitterGroup, Home, Planting, Record, fields_of
from core.book.kinds.garden import Dated
from core.book.store import Book, Stored
from core.review.spoken import listed
from dashboard import data
from dashboard.parts.fields import FIRST_DAY, LAST_DAY, Setting
from dashboard.parts.forms import RecordForm
from dashboard.parts.go import garden_link
from dashboard.parts.moved import ask_since_when, since_when
from dashboard.parts.say import next_turn, refuse, sentence, turn
from dashboard.parts.store import offer, pending, put_right
from dashboard.words import article, plain

# Optional fields that most people need, shown with the needed ones instead of in the fold.
USUAL: dict[str, tuple[str, ...]] = {
    "controller": ("power", "follows_dst"),
    "zone": ("controller", "hand"),
    "planting": ("count", "canopy", "bed", "in_pots", "soil"),
    "emitter_group": ("device", "count", "flow_each", "length", "flow_along"),
    "pause": ("scope", "until", "reason"),
    "meter": ("digits", "resolution"),
    "tariff": ("period_months",),
    "household": ("reason",),
    "normal": ("tmin", "tmax", "rain"),
    "task": ("every_days", "due_by"),
    "flow_test": ("zone", "supply"),
    "leak_test": ("shut", "zone"),
}
CHANGED, WRONG = "It changed on a day", "It was written wrong all along"


def add_form(book: Book, kind: type[Record], setting: Setting, start: dict[str, Any] | None = None) -> None:
    """A form for a new record of a kind."""
    missing = [f.cell.to for f in fields_of(kind) if f.required and f.cell.to and not setting.refs.get(f.cell.to)]
    if missing:
        need = article(KINDS[missing[0]].TITLE)
        sentence(f"{article(kind.TITLE).capitalize()} needs {need}. Write that down first.")
        garden_link(f"Write down {need}", missing[0])
        return
    name = f"add-{kind.KIND}"
    form = turn(name)
    begin: dict[str, Any] = dict(start or {})
    if "since" in kind.model_fields and kind.SLOT:
        begin.setdefault("since", data.today(book))
    if "at" in kind.model_fields:
        begin.setdefault("at", data.present_moment(book))
    fields: RecordForm[Record] = RecordForm(kind, form, setting, begin, _code_made(book, kind))
    with st.form(form):
        if kind is EmitterGroup:
            _plantings(book, setting)
        usual = USUAL.get(kind.KIND, ())
        fields.draw_all(first=usual, leave=("nth", "until") if kind.SLOT and kind.KIND != "pause" else ("nth",))
        sent = st.form_submit_button("Store", type="primary")
    if sent:
        record = fields.read()
        if record is not None:
            offer(book, record, setting.refs, name)
    pending(book, setting.refs, name)


def change_form(book: Book, stored: Stored[Record], setting: Setting, done: Callable[[], None]) -> None:
    """A form with what the record says now."""
    kind, record = type(stored.record), stored.record
    name = f"change-{kind.KIND}-{stored.id}.{stored.change_set}"
    form = turn(name)
    fields: RecordForm[Record] = RecordForm(kind, form, setting, dict(record))
    dated = isinstance(record, Dated)
    verb, day = WRONG, None
    with st.container(border=True, key=f"box-{name.replace('.', '-')}"):
        if dated:
            verb = st.radio("What happened?", (CHANGED, WRONG), key=f"{form}.verb")
            if verb == CHANGED:
                st.caption("What was true before that day stays in the book as it was.")
        with st.form(form, border=False):
            if verb == CHANGED and dated:
                day = st.date_input(
                    "Changed on",
                    value=data.today(book),
                    min_value=FIRST_DAY,
                    max_value=LAST_DAY,
                    format="YYYY-MM-DD",
                    key=f"{form}.day",
                    width=220,
                )
            leave = {"nth"} | ({"since", "until", *kind.SLOT} if verb == CHANGED and dated else set())
            if kind.KEY == ("code",):
                leave.add("code")
            fields.draw_all(leave=leave, first=USUAL.get(kind.KIND, ()))
            sent = st.form_submit_button("Store the change", type="primary")
        changed = fields.read() if sent else None
        if sent and verb == CHANGED and dated and not isinstance(day, date):
            refuse("Enter the day it changed.")
            changed = None
        if isinstance(changed, Home) and isinstance(record, Home) and ask_since_when(book, name, stored, changed):
            changed = None
        # sent or not, a question of the last turn may be answered now
        if (
            (changed is not None and put_right(book, stored, changed, setting.refs, name, day))
            or pending(book, setting.refs, name)
            or since_when(book, setting.refs, name)
        ):
            next_turn(name)
            done()
            st.rerun()


def _plantings(book: Book, setting: Setting) -> None:
    """The codes that the field for plantings takes."""
    zones = setting.refs["zone"]
    codes = {s.record.code: f"{s.record.code} ({zones.get(s.record.zone, '')})" for s in book.records(Planting)}
    st.caption(plain(f"Plantings by their codes: {listed(codes.values())}." if codes else "No planting is there yet."))


def _code_made(book: Book, kind: type[Record]) -> Callable[[dict[str, Any]], dict[str, Any]]:
    """Fills an empty code from the name, so that nobody needs to think of one."""

    def make(values: dict[str, Any]) -> dict[str, Any]:
        if "code" in kind.model_fields and not values.get("code"):
            known = {getattr(s.record, "code", "") for s in book.records(kind)}
            values["code"] = free_code(str(values.get("name") or values.get("device") or kind.KIND), known)
        return values

    return make


def free_code(name: str, known: set[str]) -> str:
    """A short code from a name that is not among the known ones."""
    base = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:32] or "x"
    code, count = base, 2
    while code in known:
        code, count = f"{base}-{count}", count + 1
    return code
