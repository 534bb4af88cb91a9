"""Every published value names a source, and every source says where it was found."""

import csv
import tomllib
from collections import Counter
from pathlib import Path

import pytest

from project import REFERENCES, ROOT, check_values

TABLES = ROOT / "holecalc" / "tables"
KEYS = {"id", "title", "number", "edition", "table", "obtained", "note"}
OBTAINED = {"package", "public page", "memory", "common practice"}


def sources_in(path: Path) -> list[dict[str, str]]:
    with path.open("rb") as file:
        return tomllib.load(file)["source"]


def faults_in_sources(sources: list[dict[str, str]]) -> list[str]:
    counts = Counter(source.get("id", "") for source in sources)
    faults = [f"{name}: listed {count} times" for name, count in counts.items() if count > 1]
    for source in sources:
        name = source.get("id", "(no id)")
        for key in sorted(KEYS ^ source.keys()):
            faults.append(f"{name}: {'lacks' if key in KEYS else 'has an unknown'} key {key}")
        faults += [f"{name}: {key} is empty" for key, value in source.items() if not value.strip()]
        if source.get("obtained") not in OBTAINED:
            faults.append(f"{name}: obtained is not one of {sorted(OBTAINED)}")
    return faults


def faults_in_rows(path: Path, known: set[str]) -> list[str]:
    with path.open(encoding="utf-8", newline="") as lines:
        reader = csv.DictReader(lines)
        if "source" not in (reader.fieldnames or ()):
            return [f"{path.name}: no source column"]
        faults = []
        for row in reader:
            where = f"{path.name} line {reader.line_num}"
            if None in row or None in row.values():
                faults.append(f"{where}: not as many values as columns")
            elif row["source"] not in known:
                faults.append(f"{where}: source {row['source']!r} is not in sources.toml")
        return faults


@pytest.fixture(scope="module")
def sources() -> list[dict[str, str]]:
    return sources_in(REFERENCES / "sources.toml")


def test_sources_are_complete_and_unique(sources):
    assert faults_in_sources(sources) == []


@pytest.mark.parametrize(
    "path",
    sorted(REFERENCES.glob("*.csv")) + sorted(TABLES.glob("*.csv")),
    ids=lambda path: f"{path.parent.name}/{path.stem}",
)
def test_every_row_names_a_known_source(path, sources):
    assert faults_in_rows(path, {source["id"] for source in sources}) == []


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("d,source\n6,iso-0000\n", "t.csv line 2: source 'iso-0000' is not in sources.toml"),
        ("d,source\n5,iso-273\n6,\n", "t.csv line 3: source '' is not in sources.toml"),
        ("d,source\n6\n", "t.csv line 2: not as many values as columns"),
        ("d,k\n6,3.3\n", "t.csv: no source column"),
        ("", "t.csv: no source column"),
    ],
    ids=["unknown id", "empty id", "short row", "no column", "empty file"],
)
def test_a_row_without_a_known_source_is_refused(tmp_path, text, fault):
    path = tmp_path / "t.csv"
    path.write_text(text, encoding="utf-8")
    assert faults_in_rows(path, {"iso-273"}) == [fault]


def test_a_row_with_a_known_source_is_accepted(tmp_path):
    path = tmp_path / "t.csv"
    path.write_text("d,source\n6,iso-273\n", encoding="utf-8")
    assert faults_in_rows(path, {"iso-273"}) == []


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ({"obtained": "hearsay"}, "x: obtained is not one of"),
        ({"note": " "}, "x: note is empty"),
        ({"page": "3"}, "x: has an unknown key page"),
    ],
)
def test_a_faulty_source_is_refused(change, fault):
    good = dict.fromkeys(KEYS, "x") | {"obtained": "memory"}
    assert faults_in_sources([good]) == []
    assert faults_in_sources([good | change])[0].startswith(fault)


def test_a_source_listed_twice_or_lacking_a_key_is_refused():
    good = dict.fromkeys(KEYS, "x") | {"obtained": "memory"}
    lacking = {key: value for key, value in good.items() if key != "edition"}
    assert faults_in_sources([good, lacking]) == ["x: listed 2 times", "x: lacks key edition"]


def test_every_source_is_used(sources):
    paths = [*REFERENCES.glob("*.csv"), *TABLES.glob("*.csv")]
    used = {
        row["source"]
        for path in paths
        for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    }
    # Common practice is cited in the text of modules and workbooks, not only in tables.
    assert {source["id"] for source in sources} - used <= {"common-practice"}


def test_check_values_fixture_reads_the_same_rows(check_values):
    rows = check_values("bs-4620-table-6")
    assert rows[0] == {
        "shank_d": "1",
        "head_diameter": "2.0",
        "head_depth": "0.5",
        "source": "bs-4620-table-6",
    }


def test_check_values_can_be_imported():
    assert len(check_values("gander-golub-strebel-1994")) == 6
