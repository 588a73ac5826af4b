"""The contributors' table of findings names every code that the arithmetic can give, and no other."""

from __future__ import annotations

import ast
import re
from pathlib import Path

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


def codes_in_table() -> dict[str, str]:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `([a-z-]+)` \| ([a-z, ]+) \| (.+) \|$", text.split("## Findings", 1)[1], re.MULTILINE)
    assert all(set(severity.split(", ")) <= {"error", "warning", "note"} and meaning for _, severity, meaning in rows)
    return {code: severity for code, severity, _ in rows}


def test_table_and_source_agree() -> None:
    table = codes_in_table()
    assert len(table) > 30
    assert set(table) == codes_in_source()
