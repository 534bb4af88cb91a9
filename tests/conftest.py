"""What several test modules share: the check values in ``references/``."""

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
REFERENCES = ROOT / "references"


def check_values(name: str) -> list[dict[str, str]]:
    """Rows of ``references/<name>.csv``; import this where a fixture is too late (parametrize)."""
    with (REFERENCES / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@pytest.fixture(name="check_values", scope="session")
def _check_values() -> Callable[[str], list[dict[str, str]]]:
    return check_values
