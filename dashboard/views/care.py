"""Care and season: where the year stands, care that is due, and the guided shutdown and start-up."""

from __future__ import annotations

import streamlit as st

from core.book.kinds import Task, Upkeep
from core.book.store import Book
from core.care.due import DueItem
from core.care.keeping import care_of, offered_tasks, season_of, take_tasks
from core.review.hunt_step import TASK
from core.review.spoken import counted
from dashboard import data
from dashboard.parts.checklist import LIST, checklist_walk
from dashboard.parts.fields import FIRST_DAY
from dashboard.parts.go import garden_link, link
from dashboard.parts.row import row_field, row_label
from dashboard.parts.say import sentence, show_told, tell, turn
from dashboard.parts.setting import setting_of
from dashboard.parts.store import store
from dashboard.words import label, plain, yearly

YEAR = 365  # days


def main() -> None:
    book = data.book()
    today = data.today(book)
    st.header("Care & season")
    show_told()
    state = season_of(book, today)
    sentence(state.sentence, "large")
    if state.settled:
        st.markdown(f"[Finish it](#{LIST})")
    if state.warning:
        st.warning(plain(state.warning))
    st.subheader("Care due")
    items = care_of(book, today, data.system(book.home()))
    if not items:
        sentence("Nothing is due in the next two weeks.")
    tasks = {s.record.code: s.record for s in book.records(Task)}
    for item in items:
        due_item(book, item, tasks.get(item.task), settled=state.settled)
    offers(book)
    garden_link("Change the tasks and how often they come round", "task")
    st.subheader("Shutdown and start-up", anchor=LIST)
    checklist_walk(book, state)


def due_item(book: Book, item: DueItem, task: Task | None, *, settled: bool) -> None:
    """One line of care with its caution, how it is done, and the button that says it is.

    ``settled``: of the season's list, which is walked further down, no step is open.
    """
    with st.container(border=True, key=f"due-{item.task}"):
        sentence(item.sentence)
        if item.caution or (task and task.how):
            if item.task == TASK:
                link("hunt", "Do it step by step")
            with st.expander("How, and what to mind"):
                if task and task.how:
                    sentence(task.how)
                if item.caution:
                    st.markdown(f"**Mind:** {plain(item.caution)}")
        if task is None:
            st.caption("Finish the list below." if settled else "Walk the list below.")
            return
        today = data.today(book)
        row = st.form(turn(f"due-{item.task}"), border=False)
        with row, st.container(horizontal=True, vertical_alignment="bottom"):
            day = st.date_input(
                row_field("Day", task.name),
                value=today,
                min_value=FIRST_DAY,
                max_value=today,
                format="YYYY-MM-DD",
                width=180,
            )
            note = st.text_input(row_field("Note (optional)", task.name), width=300)
            sent = st.form_submit_button(row_label("Done", task.name), key=f"row-done-{item.task}", type="primary")
        if sent:
            record = Upkeep(task=item.task, day=day, note=note)
            store(book, record, setting_of(book).refs, f"due-{item.task}")


def offers(book: Book) -> None:
    """Tasks that fit what is installed and are not in the book yet."""
    offered = offered_tasks(book, data.today(book))
    if not offered:
        return
    with st.expander(f"Tasks that fit what you have ({len(offered)})", expanded=not data.names(book, Task)):
        with st.form(turn("offers"), border=False):
            wanted = [
                offer.task
                for offer in offered
                if st.checkbox(label(_offer_words(offer.task)), value=True, key=f"offer-{offer.task.code}")
            ]
            sent = st.form_submit_button("Take these on", type="primary")
        if sent:
            number = take_tasks(book, wanted)
            tell(f"{counted(len(wanted), 'task')} taken on.", number)
            st.rerun()


def _offer_words(task: Task) -> str:
    often = (
        "once a year"
        if task.every_days == YEAR
        else f"every {task.every_days} days"
        if task.every_days
        else f"each year by {yearly(task.due_by)}"
        if task.due_by
        else "once"
    )
    return f"{task.name} ({often})"


main()
