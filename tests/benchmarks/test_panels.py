"""What a panel adds to the drawing of its picture, as a ratio in one run."""

import itertools
import statistics
import time

from holecalc.panels import CountersinkPanel


def median_seconds(do, times=20):
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        do()
        spent.append(time.perf_counter() - start)
    return statistics.median(spent)


def test_a_slider_move_against_redrawing_the_same_figure(benchmark):
    """Target: solve, check, redraw and tell within 1.5 of the redraw alone."""
    panel = CountersinkPanel()
    circles = itertools.cycle(range(0, 1001, 17))
    bare = median_seconds(panel._figure.png)
    benchmark.pedantic(
        lambda: setattr(panel.slider, "value", next(circles)), rounds=20, warmup_rounds=2
    )
    benchmark.extra_info["redraw alone [ms]"] = round(1e3 * bare, 1)
    benchmark.extra_info["ratio"] = round(benchmark.stats.stats.median / bare, 2)
    benchmark.extra_info["target"] = 1.5
    print(f"\npanel update / redraw: {benchmark.extra_info['ratio']} (target 1.5)")
