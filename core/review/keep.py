"""The accounts of the meters, kept between processes in the user's own cache folder. Always safe to throw away.

Reckoning ten years of hourly readings takes seconds; a book that did not change since gives the same accounts. What is
kept holds for one book, one change set, one local day and one version of this program. It never lies beside the book,
so that a book somebody sends along brings nothing with it that this program would load.
"""

from __future__ import annotations

import hashlib
import os
import pickle
from collections.abc import Callable
from datetime import date
from functools import cache
from pathlib import Path
from time import time

from platformdirs import user_cache_path

from core.accounts.account import MeterAccount
from core.book.frames import Frames
from core.book.store import Book
from core.units import System

Accounts = dict[str, MeterAccount]
Key = tuple[str, str, date, tuple[int, ...], System, str]
SEEN = (
    "meter_reading", "metered_use", "run", "other_use", "household", "pause", "program", "flow_test", "emitter_group",
    "clock_check", "decision",
)  # fmt: skip
KEPT_DAYS = 60
CORE = Path(__file__).parents[1]


def kept_accounts(book: Book, frames: Frames, day: date, system: System, reckon: Callable[[], Accounts]) -> Accounts:
    """The accounts as of the end of a local day: those kept, where they still hold, else reckoned and kept.

    ``frames`` show what could be known; how many records of each kind they show is part of what is kept by, so that
    morning and evening of a past day are not taken for each other.
    """
    key = (str(book.path), _state(book), day, tuple(len(frames[kind]) for kind in SEEN), system, _program())
    file = _folder() / f"{hashlib.sha256(f'{book.path} {system}'.encode()).hexdigest()[:24]}.accounts"
    found = _load(file, key)
    if found is None:
        found = reckon()
        _store(file, key, found)
    return found


def _state(book: Book) -> str:
    """The latest change set and when it was made: another book at the same place has another."""
    latest = book.change_sets(1)
    return f"{latest[0].number} {latest[0].at.isoformat()}" if latest else "0"


@cache
def _program() -> str:
    """What the accounts were reckoned by: the newest file of core, so that a changed program keeps nothing."""
    return str(max(file.stat().st_mtime_ns for file in CORE.rglob("*.py")))


def _folder() -> Path:
    return user_cache_path("rillbook")


def _load(file: Path, key: Key) -> Accounts | None:
    try:
        with file.open("rb") as stream:
            if pickle.load(stream) != key:  # noqa: S301 - the user's own cache folder, written by this program alone
                return None
            accounts: Accounts = pickle.load(stream)  # noqa: S301
            return accounts
    except Exception:  # noqa: BLE001 - a cache that cannot be read in any way is a cache that is not there
        return None


def _store(file: Path, key: Key, accounts: Accounts) -> None:
    """Write whole or not at all; a full disk or a folder that cannot be written to is no reason to fail."""
    fresh = file.with_suffix(f".{os.getpid()}")
    try:
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with fresh.open("wb") as stream:
            pickle.dump(key, stream)
            pickle.dump(accounts, stream)
        fresh.replace(file)
        for old in file.parent.glob("*.accounts"):
            if time() - old.stat().st_mtime > KEPT_DAYS * 86_400:
                old.unlink(missing_ok=True)
    except OSError:
        fresh.unlink(missing_ok=True)
