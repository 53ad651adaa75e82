"""Make the invented household of the sample: ``household/*.csv`` and ``truth.json``.

    python sample_data/make_household.py            writes beside this file
    python sample_data/make_household.py --to DIR   writes into another folder

The same bytes every time. Needs numpy besides the standard library.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from maker import life, paper_care, paper_garden, paper_log, tables, truth


def make(folder: Path) -> None:
    """Write the household and the truth about it into ``folder``."""
    lived = life.live()
    log, written = paper_log.sheets(lived)
    tables.write(folder / "household", paper_garden.sheets(lived) | log | paper_care.sheets())
    (folder / "truth.json").write_text(_json(truth.tell(lived, written)), encoding="utf-8", newline="\n")


def _json(told: dict[str, object]) -> str:
    """JSON with one line for each entry two levels down, so that it can be read and compared."""
    lines = []
    for name, value in told.items():
        if isinstance(value, dict) and any(isinstance(v, dict | list) for v in value.values()):
            inner = ",\n".join(f"  {json.dumps(k)}: {json.dumps(v)}" for k, v in value.items())
            lines.append(f'"{name}": {{\n{inner}\n }}')
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            inner = ",\n".join(f"  {json.dumps(v)}" for v in value)
            lines.append(f'"{name}": [\n{inner}\n ]')
        else:
            lines.append(f'"{name}": {json.dumps(value)}')
    return "{\n " + ",\n ".join(lines) + "\n}\n"


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Make the invented household of the sample.")
    parser.add_argument("--to", type=Path, default=Path(__file__).parent, help="folder to write into")
    make(parser.parse_args().to)
