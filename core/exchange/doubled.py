"""The hour that happens twice in autumn: which one a wall time without an offset means, told by the file's order."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from datetime import datetime
from itertools import pairwise

from core.days import Moment
from core.exchange.clock import Doubled, Refused

_TOLD = (Moment, Doubled)


def settle(texts: Sequence[str], groups: Sequence[Hashable], read: Mapping[str, object]) -> dict[int, Moment | Refused]:
    """Settle the wall times of one column that happened twice.

    Rows of one group (the same meter, the same gauge) were written down one after the other. Where the clock
    in such a row of rows falls back once, or the same time stands twice, the rows before it belong to the
    first time round and those from it to the second. A file with the newest first is recognised by the rows
    around that night. Anything else is refused: nobody can tell.

    Args:
        texts: the column, one cell a row.
        groups: what must be alike for rows to follow one another.
        read: what each text was read as.

    Returns:
        Row index to the settled moment, or to what is needed, for every doubled cell.
    """
    doubled = {text for text, value in read.items() if isinstance(value, Doubled)}
    open_rows: dict[Hashable, list[int]] = defaultdict(list)
    for i, text in enumerate(texts):
        if text in doubled:
            open_rows[groups[i]].append(i)
    in_group: dict[Hashable, list[int]] = defaultdict(list)
    for i, group in enumerate(groups):
        if group in open_rows:
            in_group[group].append(i)
    settled: dict[int, Moment | Refused] = {}
    for group, wanted in open_rows.items():
        rows = [i for i in in_group[group] if isinstance(read[texts[i]], _TOLD)]
        moments = [read[texts[i]] for i in rows]
        for run in _runs(moments, [bisect_left(rows, i) for i in wanted]):
            settled.update(zip((rows[n] for n in run), _settle_run(moments, run), strict=True))
    return settled


def _runs(moments: Sequence[object], places: list[int]) -> list[list[int]]:
    """Doubled places that follow one another within one night."""
    runs: list[list[int]] = []
    for n in places:
        if runs and runs[-1][-1] == n - 1 and _wall(moments[n - 1]).date() == _wall(moments[n]).date():
            runs[-1].append(n)
        else:
            runs.append([n])
    return runs


def _settle_run(moments: Sequence[object], run: list[int]) -> list[Moment | Refused]:
    """One run of doubled wall times of one night, in file order."""
    doubled = [m for n in run if isinstance(m := moments[n], Doubled)]
    walls = [_wall(m) for m in doubled]
    before = _wall(moments[run[0] - 1]) if run[0] > 0 else None
    after = _wall(moments[run[-1] + 1]) if run[-1] + 1 < len(moments) else None
    up = [a < b for a, b in ((before, walls[0]), (walls[-1], after)) if a is not None and b is not None]
    if not up and len(set(walls)) == 1:
        up = [True]  # the same time twice and nothing else: as it stands in the file
    if len(set(up)) == 1:
        newest_first = not up[0]
        falls = [n for n, (a, b) in enumerate(pairwise(walls), 1) if a == b or (a < b if newest_first else a > b)]
        if len(falls) == 1:
            return [m.second if (n >= falls[0]) != newest_first else m.first for n, m in enumerate(doubled)]
    return [
        Refused(
            f"the offset too, {m.first} or {m.second}: this time happened twice and the order of the rows "
            "does not tell which is meant"
        )
        for m in doubled
    ]


def _wall(moment: object) -> datetime:
    shown = moment.first if isinstance(moment, Doubled) else moment
    if not isinstance(shown, Moment):
        raise TypeError(f"not a moment: {shown!r}")
    return shown.local.replace(tzinfo=None)
