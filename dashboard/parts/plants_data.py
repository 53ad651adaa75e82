"""What the pages about plants and programs read, kept until the book changes."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import streamlit as st

from core.book.store import Book
from core.review import see
from core.review.away import Away, going_away
from core.review.fitting import FittingMonth, fitting_month, fitting_year
from core.review.outlook import Basis
from core.review.plants import PlantsMonth, plants_month
from core.units import System
from dashboard import data


@st.cache_data(show_spinner="Working out the plants", max_entries=40)
def _plants(path: str, number: int, month: str, until: datetime, units: System) -> PlantsMonth:
    return plants_month(see(Book.open(Path(path)), until, units), month)


@st.cache_data(show_spinner="Working out programs that fit", max_entries=60)
def _fitting(path: str, number: int, month: int, basis: Basis, until: datetime, units: System) -> FittingMonth:
    return fitting_month(see(Book.open(Path(path)), until, units), month, basis)


@st.cache_data(show_spinner="Working out twelve months", max_entries=12)
def _year(path: str, number: int, basis: Basis, until: datetime, units: System) -> tuple[FittingMonth, ...]:
    return fitting_year(see(Book.open(Path(path)), until, units), basis)


@st.cache_data(show_spinner="Walking the days ahead", max_entries=40)
def _away(path: str, number: int, start: date, days: int, basis: Basis, until: datetime, units: System) -> Away:
    return going_away(see(Book.open(Path(path)), until, units), start, days, basis)


def plants_of(book: Book, month: str) -> PlantsMonth:
    """The plants' month as of now."""
    return _plants(str(book.path), book.number(), month, data.as_of(book), data.system(book.home()))


def fitting_of(book: Book, month: int, basis: Basis) -> FittingMonth:
    """The programs that fit a month of the year, as of now."""
    return _fitting(str(book.path), book.number(), month, basis, data.as_of(book), data.system(book.home()))


def year_of(book: Book, basis: Basis) -> tuple[FittingMonth, ...]:
    """The programs that fit the twelve months ahead."""
    return _year(str(book.path), book.number(), basis, data.as_of(book), data.system(book.home()))


def away_of(book: Book, start: date, days: int, basis: Basis) -> Away:
    """A trip, looked at from now."""
    return _away(str(book.path), book.number(), start, days, basis, data.as_of(book), data.system(book.home()))
