"""What a panel adds to the drawing of its picture, as a ratio in one run."""

import io
import itertools
import statistics
import time
from functools import partial

import pytest

from holecalc import checks, demo, part
from holecalc.panels import (
    CounterborePanel,
    CountersinkPanel,
    FormCutterPanel,
    HelixPanel,
    PartPanel,
)
from holecalc.plan import plan

# Invented: a quarter-round traced at eleven heights.
TRACE = """height [mm]; diameter [mm]
1; 12.71
3; 12.69
5; 12.70
6; 12.86
7; 13.35
8; 14.22
9; 15.53
10; 17.58
11; 21.25
12; 25.40
13; 25.39"""


def median_seconds(do, times=20):
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        do()
        spent.append(time.perf_counter() - start)
    return statistics.median(spent)


@pytest.mark.parametrize(
    ("make", "slid"),
    [
        (CountersinkPanel, "slider"),
        (HelixPanel, "slider"),
        (partial(FormCutterPanel, points=TRACE), "depth_error"),
        (lambda: CounterborePanel("hexagon nut", mating_part="20 mm"), "cutter_slider"),
        (lambda: CounterborePanel("hexagon nut", behind="20 mm"), "recess_slider"),
    ],
    ids=["countersink", "helix", "form cutter", "counterbore: cutter", "counterbore: recess"],
)
def test_a_slider_move_against_redrawing_the_same_figure(benchmark, make, slid):
    """Target: solve, check, redraw and tell within 1.5 of matplotlib's own redraw alone."""
    panel = make()
    slider = getattr(panel, slid)
    slider = getattr(slider, "entry", slider)
    steps = itertools.cycle(range(slider.min, slider.max + 1, max(1, slider.max // 60)))
    figure = panel._figure.figure
    bare = median_seconds(lambda: figure.savefig(io.StringIO(), format="svg"))
    benchmark.pedantic(lambda: setattr(slider, "value", next(steps)), rounds=20, warmup_rounds=2)
    benchmark.extra_info["redraw alone [ms]"] = round(1e3 * bare, 1)
    benchmark.extra_info["ratio"] = round(benchmark.stats.stats.median / bare, 2)
    benchmark.extra_info["target"] = 1.5
    print(f"\npanel update / redraw: {benchmark.extra_info['ratio']} (target 1.5)")


@pytest.mark.parametrize("name", demo.names())
def test_an_edit_of_a_part_against_reading_planning_and_checking_it(benchmark, tmp_path, name):
    """Target: what is told costs less than what is worked out, and nothing is done twice."""
    panel = PartPanel(f"demo: {name}", folder=tmp_path)
    text = panel.text.value

    def work():
        made = part.loads(text)
        checks.part(made, plan(made))

    remarks = itertools.count()

    def edit():
        panel.text.value = f"{text}# {next(remarks)}\n"

    work()
    bare = median_seconds(work)
    benchmark.pedantic(edit, rounds=20, warmup_rounds=2)
    benchmark.extra_info["ratio"] = round(benchmark.stats.stats.median / bare, 2)
    benchmark.extra_info["target"] = 2
    print(f"\n{name}: edit / work: {benchmark.extra_info['ratio']} (target 2), {1e3 * bare:.0f} ms")
