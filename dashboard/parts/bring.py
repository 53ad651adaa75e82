"""Bringing files in: choose, see what would happen row by row, then store; rows that were kept out come back as CSV."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from core.book.kinds import KINDS
from core.book.store import Book
from core.errors import Problem, RillbookError
from core.exchange.intake import Preview, bring, preview, refused_csv, where_from
from core.exchange.rows import Sheet
from core.exchange.sheets import kind_of_file, read_sheet
from core.review.about_nothing import about_nothing
from core.review.entry_sheet import about_registers
from core.review.spoken import counted
from dashboard import data
from dashboard.parts.drawing import show_table
from dashboard.parts.say import next_turn, refuse, sentence, tell, turn
from dashboard.words import label, plain

SHOWN = 50  # problems listed on the screen; the file of refused rows has them all
_MEGABYTES = 50


def bring_in(book: Book) -> None:
    """The whole of it. Nothing is stored before the button that says so."""
    sentence("A file holds one kind of record. Its name says which, such as rain.csv; else choose the kind.", "small")
    form = turn("bring")
    uploads = st.file_uploader(
        "CSV files", type="csv", accept_multiple_files=True, key=f"{form}.files", max_upload_size=_MEGABYTES
    )
    if not uploads:
        return
    sheets = []
    for place, upload in enumerate(uploads):
        kind = kind_of_file(upload.name)
        if kind is None:
            kind = st.selectbox(
                label(f"What does {upload.name} hold?"),
                [None, *KINDS],
                format_func=lambda k: KINDS[k].TITLE if k else "choose",
                key=f"{form}.kind.{place}",
            )
        if kind is None:
            return
        sheets.append(_sheet(book, upload.name, upload.getvalue(), kind))
    planned = preview(book, sheets, data.present(), about_registers)
    _show(planned)
    answered = _answered(planned, form)
    _store(book, answered, "Nothing is stored without that yes." if planned.new and not answered.new else "")


def _sheet(book: Book, name: str, content: bytes, kind: str) -> Sheet:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        sheet = Sheet(kind, name)
        sheet.problems.append(Problem(name, 0, "", "not UTF-8 text", "a plain CSV file, saved as CSV UTF-8"))
        return sheet
    return read_sheet(text, kind, book.zone_info, name)


def _show(planned: Preview) -> None:
    table = pd.DataFrame(
        [
            {
                "File": f"{row['file']}: {KINDS[row['kind']].TITLE}",
                "New": f"{row['new']:,}",
                "Already there": f"{row['there']:,}",
                "In conflict": f"{row['in_conflict']:,}",
                "Refused": f"{row['refused']:,}",
            }
            for row in planned.counts()
        ]
    )
    st.markdown("**What would happen**")
    show_table(table)
    problems = planned.problems()
    if problems:
        _list("Rows that cannot be taken as they stand", problems, ", all of them in the file of refused rows")
    if planned.doubts:
        _list("Rows to look at before you store them", planned.doubts)
        sentence("They name what the book does not have, or look like a slip. They are stored all the same.", "small")
    for note in planned.notes():
        sentence(note)
    for name, text in refused_csv(planned).items():
        st.download_button(
            f"Refused rows of {plain(name)}",
            text,
            file_name=f"{name.removesuffix('.csv')}-refused.csv",
            mime="text/csv",
            on_click="ignore",
            key=f"refused-{name}",
        )


def _answered(planned: Preview, form: str) -> Preview:
    """Ask about registers that would run backwards; without a yes those rows are left out."""
    if not planned.asked:
        return planned
    _list("Registers that would run backwards", [question.problem() for question in planned.asked])
    sentence("Is a digit wrong, is it another meter's sheet, or was the register changed?", "small")
    yes = st.checkbox(
        "It is so: the register was changed or rolled over. Store these rows as they stand.", key=f"{form}.fell"
    )
    return planned.as_they_stand() if yes else planned.without_asked()


def _list(title: str, problems: list[Problem], where_all: str = "") -> None:
    st.markdown(f"**{title}**")
    show_table(
        pd.DataFrame(
            [
                {
                    "Where": ", ".join(w for w in (p.file, f"row {p.row}" if p.row else "", p.column) if w),
                    "Value": p.value,
                    "Expected": p.expected,
                }
                for p in problems[:SHOWN]
            ]
        )
    )
    if len(problems) > SHOWN:
        st.caption(plain(f"And {len(problems) - SHOWN:,} more{where_all}."))


def _store(book: Book, planned: Preview, why_nothing: str) -> None:
    if not planned.new:
        sentence(why_nothing or "There is nothing new to store.")
        return
    rows = counted(len(planned.new), "row")
    words = (
        f"Store {rows}" if planned.good else f"Store the {rows} that {'is' if len(planned.new) == 1 else 'are'} good"
    )
    if not st.button(words, type="primary", key="bring-store"):
        return
    try:
        with st.spinner("Storing"):
            brought = bring(book, planned, take_good_rows=True)
            idle = about_nothing(book, where_from(planned.without_asked()), data.present())
    except RillbookError as error:
        refuse(str(error))
        return
    tell(f"{brought.words[:1].upper()}{brought.words[1:]}.", brought.number, more=" ".join(idle))
    next_turn("bring")
    st.rerun()
