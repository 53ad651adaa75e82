"""The walls of the house stand: who may import whom, no clock in the equations, no hosts, no overgrown files."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SHIPPED = ("core", "dashboard", "sample_data")
MAX_LINES = {"core": 400, "dashboard": 400, "sample_data": 400, "tests": 500}  # about 300 is the aim

# Room: what of the house it may import. Longest matching name counts; a room may always import itself.
GROUND = {"core.units", "core.figures", "core.days", "core.notation", "core.errors"}
MAY_IMPORT: dict[str, set[str]] = {
    "core.errors": set(),
    "core.figures": set(),
    "core.units": {"core.errors"},
    "core.days": {"core.errors"},
    "core.usual": {"core.units"},
    "core.notation": {"core.errors", "core.days", "core.units"},
    "core.water": GROUND,
    "core.care.cautions": {"core.usual"},
    "core.accounts": GROUND | {"core.water", "core.care.cautions"},
    "core.book": GROUND,
    "core.care": GROUND | {"core.book"},
    "core.exchange": GROUND | {"core.book", "core.water.tables"},  # to know a plant type when it reads one
    "core.review": GROUND | {"core.water", "core.accounts", "core.book", "core.care"},
    "core.cli": {"core", "dashboard", "sample_data"},
    "dashboard": {"core", "sample_data"},
    "sample_data": set(),
}


def files(*folders: str) -> list[Path]:
    return sorted(p for f in folders for p in (ROOT / f).rglob("*.py") if "__pycache__" not in p.parts)


def module_name(path: Path, root: Path = ROOT) -> str:
    parts = path.relative_to(root).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imported(path: Path, root: Path = ROOT) -> Iterator[tuple[int, str]]:
    """Line and full name of everything a file imports, inside functions and for type checking too."""
    package = module_name(path, root).split(".")[: None if path.name == "__init__.py" else -1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            yield node.lineno, base
            yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)


def within(name: str, room: str) -> bool:
    return name == room or name.startswith(f"{room}.")


def room_of(module: str) -> str | None:
    return max((r for r in MAY_IMPORT if within(module, r)), key=len, default=None)


def wrong_arrows(path: Path) -> list[str]:
    """Imports of a file that its room may not make."""
    module = module_name(path)
    room = room_of(module)
    if module == "core":
        allowed: set[str] = set()
    elif room is None:
        return [f"{module} stands in no room of the house: give it one in MAY_IMPORT"]
    else:
        allowed = MAY_IMPORT[room] | {room}
    return [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for line, name in imported(path)
        if name.split(".")[0] in SHIPPED
        and name not in SHIPPED  # the bare package, as in "from core import units"; its names are checked themselves
        and not any(within(name, other) for other in allowed)
        and not any(within(other, name) for other in allowed)  # "from core.care import cautions" names core.care first
    ]


def test_arrows_run_one_way() -> None:
    wrong = [sentence for path in files(*SHIPPED) for sentence in wrong_arrows(path)]
    assert not wrong, "\n".join(wrong)


def test_the_scan_sees_an_arrow_that_runs_the_wrong_way(tmp_path: Path) -> None:
    """The check itself: every way to write an import is seen."""
    (tmp_path / "a").mkdir()
    file = tmp_path / "a" / "x.py"
    file.write_text(
        "import core.book\nfrom core.book.kinds import Run\nfrom core import book\n"
        "def f():\n    import streamlit\n    from . import y\n"
    )
    assert [name for _, name in imported(file, tmp_path)] == [
        "core.book",
        "core.book.kinds",
        "core.book.kinds.Run",
        "core",
        "core.book",
        "streamlit",
        "a",
        "a.y",
    ]
    assert room_of("core.accounts.suspects.scan") == "core.accounts"
    assert room_of("core.care.cautions") == "core.care.cautions"


def test_the_second_generator_of_homes_shares_nothing_with_the_engine_or_with_the_first() -> None:
    """What it is worth is that it is by another hand; only what asks and judges knows the engine."""
    wrong = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for path in files("tests/bench/routines")
        if path.name != "cases.py"
        for line, name in imported(path)
        if name.split(".")[0] in SHIPPED or (within(name, "tests") and not within(name, "tests.bench.routines"))
    ]
    assert len(files("tests/bench/routines")) > 1
    assert not wrong, "\n".join(wrong)


def test_core_knows_no_screen() -> None:
    wrong = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for path in files("core", "sample_data")
        for line, name in imported(path)
        if name.split(".")[0] in ("streamlit", "altair")
    ]
    assert not wrong, "\n".join(wrong)


def test_equations_never_ask_the_clock() -> None:
    asked = [
        f"{path.relative_to(ROOT)}:{node.lineno}: {ast.unparse(node)}"
        for path in files("core/water", "core/accounts")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute)
        and node.attr in ("now", "utcnow", "today", "time_ns", "monotonic", "perf_counter")
        and ast.unparse(node.value).split(".")[-1] in ("datetime", "date", "Timestamp", "pd", "time")
    ]
    assert not asked, "\n".join(asked)


def test_no_folder_is_called_pages() -> None:
    """Streamlit serves a folder of that name beside the entry script without the entry script, so without its gate."""
    found = [p for p in ROOT.rglob("pages") if p.is_dir() and not {".git", ".venv", "node_modules"} & set(p.parts)]
    assert not found


def test_no_file_holds_two_rooms() -> None:
    long = [
        f"{path.relative_to(ROOT)} has {lines} lines; split it"
        for path in files(*SHIPPED, "tests")
        if (lines := path.read_text(encoding="utf-8").count("\n")) > MAX_LINES[path.relative_to(ROOT).parts[0]]
    ]
    assert not long, "\n".join(long)


def test_nothing_reaches_for_another_host() -> None:
    """Rillbook works offline: no address but this machine's own stands in what is shipped or run."""
    registries = re.compile(r"py" + r"pi\.org|files\.python" + r"hosted|npm" + r"js\.|anaconda\.org", re.IGNORECASE)
    address = re.compile(r"\b(?:https?|wss?|ftp)://(?P<host>[\w.{}-]+)")
    here = {"127.0.0.1", "localhost", "0.0.0.0", "www.w3.org"}  # noqa: S104 - the last names XML, nothing is fetched
    places = [p for f in (*SHIPPED, ".ci", "tests") for p in (ROOT / f).rglob("*") if p.is_file()]
    places += [ROOT / n for n in ("pyproject.toml", "README.md", "DEVELOPERS.md") if (ROOT / n).exists()]
    wrong = []
    for place in places:
        if place.suffix in (".pyc", ".png", ".rillbook", ".ttf", ".woff2") or place == Path(__file__).resolve():
            continue
        text = place.read_text(encoding="utf-8", errors="replace")
        wrong += [f"{place.relative_to(ROOT)}: {m[0]}" for m in registries.finditer(text)]
        if place.relative_to(ROOT).parts[0] in SHIPPED:
            wrong += [
                f"{place.relative_to(ROOT)}: {m[0]}"
                for m in address.finditer(text)
                if m["host"] not in here and not m["host"].startswith("{")
            ]
    assert not wrong, "\n".join(wrong)
