"""The contributors' table of findings names every code that the arithmetic can give, and no other."""

from __future__ import annotations

import ast
import itertools
import re
from pathlib import Path

import pytest
from stowfold.geometry.finding_groups import GROUPS, Group, group_of, title_of

ROOT = Path(__file__).resolve().parents[2]

_SLUG = re.compile(r"[a-z]+(-[a-z]+)+")


def codes_in_source() -> set[str]:
    """Slugs that stand in the source of functions that make findings, strings only, docstrings left out."""
    found = set()
    for path in sorted((ROOT / "geometry").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        if not any(isinstance(node, ast.Name) and node.id == "Finding" for node in ast.walk(tree)):
            continue
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and _SLUG.fullmatch(node.value):
                found.add(node.value)
    return found


def severities_in_source() -> dict[str, set[str]]:
    """The severities of each code, from the calls of ``Finding`` that spell out both."""
    found: dict[str, set[str]] = {}
    for path in sorted((ROOT / "geometry").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Finding"):
                continue
            values = [*node.args, *(keyword.value for keyword in node.keywords)]
            codes = [
                value.value
                for value in values
                if isinstance(value, ast.Constant) and isinstance(value.value, str) and _SLUG.fullmatch(value.value)
            ]
            severities = {
                node.attr.lower()
                for value in values
                for node in ast.walk(value)
                if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "Severity"
            }
            for code in codes:
                found.setdefault(code, set()).update(severities)
    return found


def codes_in_table() -> dict[str, str]:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `([a-z-]+)` \| ([a-z, ]+) \| (.+) \|$", text.split("## Findings", 1)[1], re.MULTILINE)
    assert all(set(severity.split(", ")) <= {"error", "warning", "note"} and meaning for _, severity, meaning in rows)
    return {code: severity for code, severity, _ in rows}


def test_table_and_source_agree() -> None:
    table = codes_in_table()
    assert len(table) > 30
    assert set(table) == codes_in_source()


@pytest.mark.slow
def test_table_gives_the_severities_that_the_source_spells_out() -> None:
    table = codes_in_table()
    source = {code: severities for code, severities in severities_in_source().items() if severities}
    assert len(source) > 20
    assert source == {code: set(table[code].split(", ")) for code in source}


#: Words behind which a number would name a face or edge of the host, or a point.
_BEFORE_NUMBER = re.compile(r"\b(faces?|edges?|at x) $", re.IGNORECASE)


def numbers_in_text(source: str) -> list[str]:
    """Literal parts of f-strings that name a place by what is put in behind them."""
    return [
        before.value
        for text in ast.walk(ast.parse(source))
        if isinstance(text, ast.JoinedStr)
        for before, after in itertools.pairwise(text.values)
        if isinstance(after, ast.FormattedValue) and isinstance(before, ast.Constant)
        if _BEFORE_NUMBER.search(str(before.value))
    ]


def test_no_sentence_names_a_place_of_the_model_by_its_number() -> None:
    assert numbers_in_text('f"The side of face {facet.faces[0]} is short"') == ["The side of face "]
    for path in sorted((ROOT / "geometry").rglob("*.py")):
        source = path.read_text(encoding="utf-8")
        if "Finding(" in source or "UnreadableError(" in source:
            assert not numbers_in_text(source), f"{path.name}: give places as values"


# Groups: a table that misses a code is found here

#: A title with a place beside it fills two lines of the sidebar as the host opens it.
_MOST = 46


def test_every_code_has_a_group_and_a_title() -> None:
    assert set(GROUPS) == set(codes_in_table())
    assert {group_of(code) for code in GROUPS} == set(Group)


def test_titles_are_short_all_different_and_no_sentences() -> None:
    titles = [title_of(code) for code in GROUPS]
    assert len(set(titles)) == len(titles)
    assert all(0 < len(title) <= _MOST and not title.endswith(".") and title[0].isupper() for title in titles)


def test_groups_are_what_a_maker_asks() -> None:
    assert [group.value for group in Group] == ["Will not cut", "Will not fit", "Plays badly"]
    assert group_of("part-longer-than-sheet") is Group.CUT
    assert group_of("boards-cross") is Group.FIT
    assert group_of("square-never-seen") is Group.PLAY


def test_a_code_that_is_not_known_yet_is_listed_all_the_same() -> None:
    assert (group_of("beam-too-blue"), title_of("beam-too-blue")) == (Group.FIT, "Beam too blue")
