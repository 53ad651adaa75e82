"""Keeping large imports quick."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_paused() -> Iterator[None]:
    """Hold the cycle collector while many records come into being.

    None of them is garbage, yet the collector walks all of them again and again: half the time of reading
    100,000 meter readings went there.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            if not gc.get_freeze_count():  # the new objects count as old, so that they are not walked at once
                gc.freeze()
                gc.unfreeze()
            gc.enable()
