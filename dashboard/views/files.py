"""Files: bring in, templates, export, backup, and every change with taking it back."""

from __future__ import annotations

import streamlit as st

from core.book.kinds import KINDS
from core.book.store import Book, ChangeSet
from core.exchange.templates import template
from dashboard import data
from dashboard.parts.bring import bring_in
from dashboard.parts.copies import copied, zipped
from dashboard.parts.row import row_button
from dashboard.parts.say import sentence, show_told, take_back
from dashboard.words import moment_words, plain

WHAT = {"bring": "Bring in", "out": "Take out", "history": "History"}
MOST = 40


def main() -> None:
    book = data.book()
    st.header("Files")
    what = st.segmented_control(
        "What to do with files",
        list(WHAT),
        default="bring",
        format_func=lambda w: WHAT[w],
        key="files-what",
        required=True,
        bind="query-params",
        label_visibility="collapsed",
    )
    show_told()
    if what == "out":
        take_out(book)
    elif what == "history":
        history(book)
    else:
        st.subheader("Bring in")
        bring_in(book)
        templates(book)


def templates(book: Book) -> None:
    """An example sheet for each kind, to write over."""
    st.subheader("Templates")
    kind = st.selectbox(
        "Template for", list(KINDS), index=list(KINDS).index("rain"), format_func=lambda k: KINDS[k].TITLE, width=420
    )
    st.caption(plain(KINDS[kind].HELP))
    st.download_button(
        f"Template {kind}.csv",
        template(kind, data.system(book.home())),
        file_name=f"{kind}.csv",
        mime="text/csv",
        on_click="ignore",
    )


def take_out(book: Book) -> None:
    """Export and backup."""
    day = f"{data.today(book):%Y-%m-%d}"
    st.subheader("Everything as CSV")
    sentence("One sheet for each kind of record, in a zip file. The same files can be brought in again.")
    st.download_button(
        "Export as zip",
        lambda: zipped(book),
        file_name=f"rillbook-{day}.zip",
        mime="application/zip",
        on_click="ignore",
        key="export",
    )
    st.subheader("Backup")
    sentence("A whole copy of the book in one file. Keep it on another disk.")
    st.download_button(
        "Backup",
        lambda: copied(book),
        file_name=f"{book.path.stem}-{day}.rillbook",
        mime="application/octet-stream",
        on_click="ignore",
        key="backup",
    )
    st.caption(plain(f"The book itself lies at {book.path}."))
    if not data.named_by_command() and st.button("Put this book away and open another", key="put-away"):
        data.put_away()
        st.rerun()


def history(book: Book) -> None:
    """Every change, newest first, with its way back."""
    st.subheader("History")
    sentence("Everything one step wrote stands together and can be taken back together.", "small")
    for changes in book.change_sets(MOST):
        entry(book, changes)


def entry(book: Book, changes: ChangeSet) -> None:
    """One change set."""
    with st.container(horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
        state = " (taken back)" if changes.undone_by else ""
        words = f"{changes.what[:1].upper()}{changes.what[1:]}{state}"
        st.markdown(f"{plain(words)}  \n:gray[{plain(moment_words(changes.at, book.zone_info))}]", width="stretch")
        if changes.undone_by is None and changes.number > 1:
            label = "Put back" if changes.undoes else "Take back"
            if row_button(label, changes.what, f"back-{changes.number}", "secondary"):
                take_back(changes.number, changes.what)


main()
