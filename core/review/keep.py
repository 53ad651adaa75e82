"""The accounts of the meters, kept between processes in the user's own cache folder. Always safe to throw away.

Reckoning ten years of hourly readings takes seconds; the same readings, runs, decisions and the rest of what is handed
over give the same account. What is kept holds for exactly that content and one version of this program, so whatever
else is written in the book leaves it standing. It never lies beside the book, so that a book somebody sends along
brings nothing with it that this program would load.
"""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from hashlib import blake2b
from pathlib import Path
from threading import get_ident
from time import time
from typing import ParamSpec

import numpy as np
import pandas as pd
from pandas.util import hash_pandas_object
from platformdirs import user_cache_path

from core.accounts.account import MeterAccount

Handed = ParamSpec("Handed")
KEPT_DAYS = 60
CORE = Path(__file__).parents[1]


def kept_account(
    place: str, reckon: Callable[Handed, MeterAccount], *args: Handed.args, **named: Handed.kwargs
) -> MeterAccount:
    """What ``reckon`` gives for the arguments: kept from before where they are the same, else reckoned and kept.

    ``place`` is whose account it is (the book, the meter, the units); one is kept for each.
    """
    key = digest_of(*args, *named.items())
    file = _folder() / f"{blake2b(place.encode(), digest_size=12).hexdigest()}.accounts"
    found = _load(file, key)
    if found is None:
        found = reckon(*args, **named)
        _store(file, key, found)
    return found


def digest_of(*values: object) -> bytes:
    """The content of frames, by value and by type, and of whatever else tells its content when written out."""
    digest = blake2b(_program())
    for value in values:
        if isinstance(value, tuple):
            digest.update(digest_of(*value))
        elif isinstance(value, pd.DataFrame):
            digest.update(repr((len(value), [*value.dtypes.items()])).encode())
            digest.update(np.asarray(hash_pandas_object(value.index)).tobytes())
            for name in value:
                digest.update(np.asarray(hash_pandas_object(value[name], index=False)).tobytes())
        else:
            digest.update(repr((type(value), value)).encode())
    return digest.digest()


@cache
def _program() -> bytes:
    """What the accounts were reckoned by: the text of core, so that a changed program keeps nothing."""
    digest = blake2b(pd.__version__.encode())  # one pandas may not read what another wrote
    for file in sorted(CORE.rglob("*.py")):
        digest.update(file.read_bytes())
    return digest.digest()


def _folder() -> Path:
    return user_cache_path("rillbook")


def _load(file: Path, key: bytes) -> MeterAccount | None:
    try:
        with file.open("rb") as stream:
            if stream.read(len(key)) != key:
                return None
            found = pickle.load(stream)  # noqa: S301 - the user's own cache folder, written by this program alone
            return found if isinstance(found, MeterAccount) else None
    except Exception:  # noqa: BLE001 - a cache that cannot be read in any way is a cache that is not there
        return None


def _store(file: Path, key: bytes, account: MeterAccount) -> None:
    """Write whole or not at all; a full disk or a folder that cannot be written to is no reason to fail."""
    fresh = file.with_suffix(f".{os.getpid()}-{get_ident()}.accounts")
    try:
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with fresh.open("wb") as stream:
            stream.write(key)
            pickle.dump(account, stream)
        fresh.replace(file)
        for old in file.parent.glob("*.accounts"):
            if time() - old.stat().st_mtime > KEPT_DAYS * 86_400:
                old.unlink(missing_ok=True)
    except OSError:
        with suppress(OSError):
            fresh.unlink(missing_ok=True)
