"""The contributors' table of findings names every code that the arithmetic can give, and no other."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

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
                each.attr.lower()
                for value in values
                for each in ast.walk(value)
                if isinstance(each, ast.Attribute) and isinstance(each.value, ast.Name) and each.value.id == "Severity"
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
