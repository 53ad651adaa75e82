"""What could hide at a book's pace of reading, beside the meter's chart."""

from __future__ import annotations

from collections.abc import Mapping

import streamlit as st

from core.accounts.leaktest import under_read_note
from core.units import System
from dashboard import data
from dashboard.parts.go import link
from dashboard.parts.say import sentence
from dashboard.words import plain


def what_hides(sides: Mapping[str, data.MeterSide], names: Mapping[str, str], system: System) -> None:
    """For each meter the smallest leak its readings would tell, that meters under-read, and the way to the hunt."""
    told = {code: side.hide for code, side in sides.items() if side.hide}
    if not told:
        return
    with st.container(border=True, key="hidden"):
        st.subheader("What could hide")
        sentence("How small a leak that runs all the time could go unseen, read as often as you read of late:")
        for code, sentences in told.items():
            lead = f"{names.get(code, code)}: " if len(told) > 1 else ""
            for words in sentences:
                st.markdown(f"- {plain(lead + words)}")
        st.caption(plain(under_read_note(system)))
        link("hunt", "Look for a leak with the meter, one valve at a time")
