"""Every finding is explained by a heading that there is."""

import ast
from pathlib import Path

import pytest

from holecalc import checks, derivations
from project import ROOT

PAGES = sorted((ROOT / "references").glob("derivations*.md"))


def topic_of(call, tree):
    """What a call of Finding gives as its topic; None where it hands on another finding's."""
    named = {word.arg: word.value for word in call.keywords}
    topic = call.args[3] if len(call.args) > 3 else named["topic"]
    if isinstance(topic, ast.Attribute):
        return None
    if isinstance(topic, ast.Constant):
        return topic.value
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign):
            names, values = node.targets[0], node.value
            pairs = [(names, values)]
            if isinstance(names, ast.Tuple) and isinstance(values, ast.Tuple):
                pairs = zip(names.elts, values.elts, strict=True)
            for name, value in pairs:
                if isinstance(name, ast.Name) and name.id == topic.id:
                    return value.value
    raise AssertionError(f"line {call.lineno}: what is {ast.unparse(topic)}?")


def topics():
    found = []
    for path in sorted((ROOT / "holecalc").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] == "Finding":
                found.append((path.relative_to(ROOT), node.lineno, topic_of(node, tree)))
    return found


def test_every_topic_in_the_package_is_a_heading():
    found = topics()
    assert len(found) > 60
    headings = derivations.sections().keys()
    unknown = [each for each in found if each[2] is not None and each[2] not in headings]
    assert unknown == []


def test_no_heading_stands_twice():
    headings = [
        line[3:].strip().lower()
        for page in PAGES
        for line in page.read_text(encoding="utf-8").splitlines()
        if line.startswith("## ")
    ]
    assert len(headings) == len(set(headings)) == len(derivations.sections())


def test_a_fold_holds_its_section_with_the_figure_as_it_is_drawn():
    told = derivations.fold("circles that work")
    assert told.count("<details") == told.count("</details>") == 1
    assert "<summary>why: circles that work</summary>" in told
    assert "tip inside the hole: else a flat ring, a ledge, is left" in told
    figure = derivations.fold("seat of a head")
    assert "<pre><code>            R\n   |----" in figure
    assert "<em>rim</em> on the sink's cone" in figure.replace("&#x27;", "'")


def test_a_fold_shows_no_markdown_and_leads_nowhere():
    for topic in derivations.sections():
        told = derivations.fold(topic)
        assert "```" not in told
        assert "**" not in told, topic
        assert "<a " not in told, topic


def test_a_topic_without_a_heading_has_no_fold():
    assert derivations.fold("how to whistle") == ""


def test_findings_carry_the_fold_of_their_topic():
    finding = checks.Finding(checks.Weight.LOOK, "a < b.", "Make it b.", "seat of a head")
    told = checks.Findings([finding])._repr_html_()
    assert "a &lt; b." in told
    assert derivations.fold("seat of a head") in told


@pytest.mark.parametrize("inside", [True, False])
def test_the_pages_are_found_inside_the_package_or_beside_it(tmp_path, monkeypatch, inside):
    package = tmp_path / "holecalc"
    folder = package / "references" if inside else tmp_path / "references"
    folder.mkdir(parents=True)
    (folder / "derivations-new.md").write_text("# New\n\n## A heading\n\nWhat it says.\n")
    monkeypatch.setattr("importlib.resources.files", lambda _name: Path(package))
    derivations.sections.cache_clear()
    try:
        assert dict(derivations.sections()) == {"a heading": "What it says."}
    finally:
        derivations.sections.cache_clear()
