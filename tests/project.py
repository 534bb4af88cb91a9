"""Where things of the project are, for the tests: its folders and its check values."""

import csv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
REFERENCES = ROOT / "references"


def check_values(name: str) -> list[dict[str, str]]:
    """Rows of ``references/<name>.csv``; import this where a fixture is too late (parametrize)."""
    with (REFERENCES / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))
