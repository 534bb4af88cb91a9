"""How fast the numbers are, as ratios within one run: ``pytest tests/benchmarks -s``."""

import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

from holecalc.countersink import CUT
from holecalc.sizes import angle, length
from project import ROOT


class Table:
    """What was measured against what, printed once at the end."""

    def __init__(self) -> None:
        self.rows: list[tuple[str, str, float, float]] = []

    def add(self, benchmark: Any, what: str, against: str, ratio: float, target: float) -> None:
        self.rows.append((what, against, ratio, target))
        benchmark.extra_info.update(against=against, ratio=round(ratio, 3), target=target)

    def __str__(self) -> str:
        lines = [f"{'':<44}{'ratio':>8}{'target':>8}"]
        for what, against, ratio, target in self.rows:
            verdict = "met" if ratio <= target else "MISSED"
            lines.append(f"{what:<44}{ratio:>8.2f}{target:>8.2f}  {verdict:<7} against {against}")
        return "\n".join(lines)


@pytest.fixture(name="table", scope="module")
def _table() -> Iterator[Table]:
    table = Table()
    yield table
    print(f"\n\n{table}")


def median_seconds(work: Callable[[], Any], times: int) -> float:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def test_one_hole_with_text_in_and_quantities_out(benchmark, table):
    """At most one millisecond."""

    def one_hole() -> dict[str, Any]:
        return dict(
            CUT.solve(
                top_diameter="12.6 mm",
                circle_diameter="4 mm",
                tip_diameter="0.2 mm",
                included_angle="90°",
                hole_diameter="6.6 mm",
            )
        )

    benchmark(one_hole)
    seconds = benchmark.stats.stats.median
    table.add(benchmark, "one hole, text in, quantities out", "1 ms", seconds / 1e-3, 1.0)


def test_a_million_variants_against_the_same_formulae_in_numpy(benchmark, table):
    """At most twice as long, answers and range checks included."""
    draw = np.random.default_rng(1)
    count = 1_000_000
    top, circle = draw.uniform(10, 20, count), draw.uniform(0, 5, count)
    tip, degrees = draw.uniform(0, 0.5, count), draw.uniform(60, 120, count)
    hole = draw.uniform(6, 9, count)

    def in_numpy() -> tuple[Any, ...]:
        slope = np.tan(np.radians(degrees) / 2)
        return (
            (top - circle - tip) / (2 * slope),
            top - circle,
            hole - circle,
            (top - hole) / (2 * slope),
        )

    known = {
        "top_diameter": length(top, "mm"),
        "circle_diameter": length(circle, "mm"),
        "tip_diameter": length(tip, "mm"),
        "included_angle": angle(degrees),
        "hole_diameter": length(hole, "mm"),
    }

    def with_holecalc() -> tuple[Any, ...]:
        cut = CUT.solve(**known)
        return (cut.depth, cut.face_cutting_diameter, cut.hole_cutting_diameter, cut.cone_depth)

    for told, wanted in zip(with_holecalc(), in_numpy(), strict=True):
        np.testing.assert_allclose(told.m_as("mm"), wanted, rtol=1e-12)
    # Taken in turn, so that a busy machine slows both alike.
    bare = []
    benchmark.pedantic(
        with_holecalc, setup=lambda: bare.append(median_seconds(in_numpy, 1)), rounds=15
    )
    ratio = benchmark.stats.stats.median / statistics.median(bare)
    table.add(benchmark, "1,000,000 variants", "the same formulae in numpy", ratio, 2.0)


# --- fresh processes -------------------------------------------------------------------------

TIMED = """
import time
start = time.perf_counter()
{work}
print(time.perf_counter() - start)
"""
IMPORT_HOLECALC = "import holecalc"
IMPORT_NUMPY = "import numpy"
FIRST_SOLVE = """
from holecalc.countersink import CUT
CUT.solve(
    top_diameter="12.6 mm", circle_diameter="4 mm", tip_diameter="0.2 mm", included_angle="90°"
).depth
"""
BARE_LIBRARIES = """
import numpy, pint, sympy
pint.UnitRegistry(cache_folder=":auto:").millimeter
"""


def seconds_in_a_fresh_process(work: str) -> float:
    told = subprocess.run(
        [sys.executable, "-c", TIMED.format(work=work)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    return float(told.stdout)


@pytest.mark.parametrize(
    ("what", "work", "against", "bare_work", "target"),
    [
        ("import holecalc", IMPORT_HOLECALC, "import numpy", IMPORT_NUMPY, 1.5),
        (
            "first CUT.solve in a fresh process",
            FIRST_SOLVE,
            "importing numpy, pint (cached registry) and sympy",
            BARE_LIBRARIES,
            1.5,
        ),
    ],
    ids=["import", "first solve"],
)
def test_a_fresh_process(benchmark, table, what, work, against, bare_work, target):
    for each in (work, bare_work):
        # Compiled files and pint's definition cache are there after a first run.
        seconds_in_a_fresh_process(each)
    ours, bare = [], []

    def both() -> None:
        ours.append(seconds_in_a_fresh_process(work))
        bare.append(seconds_in_a_fresh_process(bare_work))

    benchmark.pedantic(both, rounds=9)
    ratio = statistics.median(ours) / statistics.median(bare)
    benchmark.extra_info["ours [ms]"] = round(1e3 * statistics.median(ours), 1)
    benchmark.extra_info["bare [ms]"] = round(1e3 * statistics.median(bare), 1)
    table.add(benchmark, what, against, ratio, target)
