"""The entry script: the gate, the pages, and the one place where an error becomes a sentence."""

from __future__ import annotations

import hmac
import logging
import os
from pathlib import Path

import streamlit as st

from core.errors import RillbookError
from dashboard import data
from dashboard.parts.first_done import nothing_to_review, unfinished
from dashboard.parts.say import begin_run
from dashboard.parts.shown_units import follow_book, remember_units
from dashboard.words import UNITS, plain

HERE = Path(__file__).parent
PAGES = {
    "month": "This month",
    "write": "Write it down",
    "meter": "Meter",
    "plants": "Plants",
    "program": "A program that fits",
    "care": "Care & season",
    "garden": "Garden",
    "files": "Files",
}
_GREETED = "greeted"  # the book this window has opened
SHORT = {"month": "Month", "write": "Write", "program": "Program", "care": "Care"}


def gate() -> None:
    """Ask for the passphrase where one is set; nothing of the book is read before it was given."""
    wanted = os.environ.get("RILLBOOK_PASSPHRASE", "")
    if not wanted or st.session_state.get("let_in"):
        return
    st.title("Rillbook")
    with st.form("gate"):
        given = st.text_input("Passphrase", type="password", autocomplete="current-password")
        sent = st.form_submit_button("Open the book", type="primary")
    if sent and hmac.compare_digest(given.encode() if given else b"", wanted.encode()):
        st.session_state["let_in"] = True
        st.rerun()
    if sent:
        st.error("That is not the passphrase of this book.")
    st.stop()


def pages() -> dict[str, st.Page]:
    """The pages there are: only the first screen while there is no book, first steps while they are unfinished."""
    if data.book_path() is None:
        return {"start": st.Page(HERE / "views" / "start.py", title="Begin", url_path="begin", default=True)}
    found = {
        name: st.Page(HERE / "views" / f"{name}.py", title=title, url_path=name)
        for name, title in PAGES.items()
        if name != "month"
    }
    # The default page answers at the root alone, whatever it is called; whoever types its name is led there.
    month = st.Page(HERE / "views" / "month.py", title=PAGES["month"], url_path="root", default=True)
    found = {"month": month, **found}
    found["steps"] = st.Page(
        HERE / "views" / "steps.py",
        title="First steps",
        url_path="steps",
        visibility="visible" if unfinished(data.book()) else "hidden",
    )
    found["named"] = st.Page(_to_month, title="Month", url_path="month", visibility="hidden")
    found["hunt"] = st.Page(HERE / "views" / "hunt.py", title="Leak hunt", url_path="hunt", visibility="hidden")
    return found


def _to_month() -> None:
    st.switch_page(st.session_state["pages"]["month"], query_params=st.query_params.to_dict())


def first_steps_first(page: st.Page, listed: dict[str, st.Page]) -> bool:
    """Whether a book that was just opened has nothing to show but its first steps. Once opened, every page is free;
    whoever asks for a month gets it.
    """
    if "steps" not in listed or st.session_state.get(_GREETED) == str(data.book_path()):
        return False
    st.session_state[_GREETED] = str(data.book_path())
    asked = "month" in st.query_params or "RILLBOOK_MONTH" in os.environ
    return page == listed["month"] and not asked and nothing_to_review(data.book())


def frame_of(page: st.Page, listed: dict[str, st.Page]) -> None:
    """What stands above every page: the household, the units, and on a phone the row of pages."""
    if "month" not in listed:
        return
    with st.container(horizontal=True, key="phone-pages", gap="small"):
        for name, target in listed.items():
            if target.visibility == "hidden":
                continue
            st.page_link(target, label=plain(SHORT.get(name, target.title)))
    home = data.book().home()
    follow_book(home)
    with st.container(horizontal=True, horizontal_alignment="distribute", vertical_alignment="center", key="head"):
        st.markdown(f"**{plain(home.name)}**", width="content")
        st.segmented_control(
            "Show units as",
            list(UNITS),
            format_func=lambda s: UNITS[s],
            key="units",
            required=True,
            label_visibility="collapsed",
            persist_state="session",
            on_change=remember_units,
        )


def main() -> None:
    st.set_page_config(page_title="Rillbook", page_icon="💧", layout="wide")
    st.html(HERE / "parts" / "style.css")
    gate()
    begin_run()
    try:
        listed = pages()
        page = st.navigation(list(listed.values()), position="top" if len(listed) > 1 else "hidden")
        st.session_state["page"] = page.url_path
        st.session_state["pages"] = listed
        if first_steps_first(page, listed):
            st.switch_page(listed["steps"])
        frame_of(page, listed)
        page.run()
    except RillbookError as error:
        st.error(plain(str(error)))
    except Exception:
        logging.getLogger("rillbook").exception("a page failed")
        st.error(
            "Something went wrong inside Rillbook. Your book is as it was: what a step writes is stored whole or not "
            "at all. Go back to another page; the log of the program says more."
        )


main()
