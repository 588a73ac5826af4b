"""Findings as lines of the sidebar: title, place in words, cure; those that the maker has accepted kept apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import bpy

from ..geometry.finding_groups import Group, group_of, title_of
from ..geometry.findings import Finding, Severity
from ..jobs import results
from ..window.kept import Kept
from .cures import Cure, cure_of

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome

__all__ = ["Line", "is_accepted", "key_of", "lines_by_group", "lines_of"]


@dataclass(frozen=True, slots=True)
class Line:
    """One finding as it is listed. index: its place among all findings. words: its sentence, places in words.

    key: what it is accepted by. has_place: it can be shown in the view.
    """

    index: int
    severity: Severity
    group: Group
    title: str
    place: str
    words: str
    key: str
    has_place: bool
    cure: Cure | None

    @property
    def short(self) -> str:
        """The line itself."""
        return f"{self.title}: {self.place}" if self.place else self.title


_lines: Kept[Outcome, tuple[Line, ...]] = Kept()


def lines_of(report: results.Report) -> tuple[Line, ...]:
    """Return all findings of a report as lines; made once for an outcome."""
    outcome = report.outcome
    return () if outcome is None else _lines.get(outcome, lambda: _make_lines(outcome))


def lines_by_group(report: results.Report, scene: bpy.types.Scene) -> Mapping[Group, tuple[Line, ...]]:
    """Return the lines that are not accepted, by group, in the order of the groups."""
    open_lines = [line for line in lines_of(report) if not is_accepted(line, scene)]
    return {group: tuple(line for line in open_lines if line.group is group) for group in Group}


def is_accepted(line: Line, scene: bpy.types.Scene) -> bool:
    """Return whether the maker has accepted a finding; an error cannot be accepted."""
    return line.severity is not Severity.ERROR and line.key in scene.stowfold.accepted


def _make_lines(outcome: Outcome) -> tuple[Line, ...]:
    from ..geometry.solid.places import name_places

    names = name_places(outcome.facets)
    return tuple(
        Line(
            index=index,
            severity=finding.severity,
            group=group_of(finding.code),
            title=title_of(finding.code),
            place=names.words(finding.where),
            words=finding.message,
            key=key_of(finding, names.words(finding.where)),
            has_place=_has_place(finding),
            cure=cure_of(outcome, finding),
        )
        for index, finding in enumerate(outcome.findings)
    )


def key_of(finding: Finding, place: str) -> str:
    """Return what a finding is recognised by at the next check: its code and its place, not its numbers."""
    return f"{finding.code}: {place}"


def _has_place(finding: Finding) -> bool:
    where = finding.where
    return bool(where.faces or where.edges or where.part or where.point)


def forget() -> None:
    """Drop what was made."""
    _lines.forget()
