"""What several test modules share: the check values in ``references/``."""

from collections.abc import Callable

import pytest

import project


@pytest.fixture(name="check_values", scope="session")
def _check_values() -> Callable[[str], list[dict[str, str]]]:
    return project.check_values
