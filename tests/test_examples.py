"""Examples that stand below a module's constants run too; doctest itself does not look there."""

import ast
import doctest
import importlib
import inspect
import itertools
import pkgutil

import pytest

import holecalc


def examples_below_constants():
    for info in pkgutil.walk_packages(holecalc.__path__, "holecalc."):
        if info.name.endswith("__main__"):
            continue
        module = importlib.import_module(info.name)
        body = ast.parse(inspect.getsource(module)).body
        for before, node in itertools.pairwise(body):
            assigns = isinstance(before, ast.Assign | ast.AnnAssign)
            text = getattr(getattr(node, "value", None), "value", None)
            if assigns and isinstance(text, str) and ">>>" in text:
                target = before.targets[0] if isinstance(before, ast.Assign) else before.target
                yield pytest.param(module, text, id=f"{info.name}.{ast.unparse(target)}")


EXAMPLES = list(examples_below_constants())


def test_there_are_some():
    assert any("countersink.CUT" in str(example.id) for example in EXAMPLES)


@pytest.mark.parametrize(("module", "text"), EXAMPLES)
def test_the_example_is_right(module, text):
    test = doctest.DocTestParser().get_doctest(
        text, dict(vars(module)), module.__name__, module.__file__, 0
    )
    said = []
    doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(test, out=said.append)
    assert not said, "".join(said)
