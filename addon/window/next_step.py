"""Next step: from what is known of the building, how every step stands, and the one thing to do next."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Advice", "Checked", "Facts", "State", "next_advice", "states_of"]


class State(StrEnum):
    """How a step stands: done, the one to do next, something to mend in it, or not its turn yet."""

    DONE = "done"
    NEXT = "next"
    NEEDS_YOU = "needs you"
    LATER = "later"


class Checked(StrEnum):
    """What the last check is worth: there was none, it goes on, nothing could be made, the model changed, it holds."""

    NOT_YET = "not yet"
    GOES_ON = "goes on"
    FAILED = "failed"
    STALE = "stale"
    CURRENT = "current"


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of the building.

    building: there is a block-out. marked: some of its edges bend, part or close. dressed: something is
    drawn on it. seats: players at the table.
    boards: every chosen board is known. errors: of the last check. sheets: that it laid out. failure: the sentence
    of a check that could make nothing. step: the one that the sidebar shows. error: the finding to show next.
    delivered: cut files were written from this file.
    """

    building: bool = False
    marked: bool = False
    dressed: bool = False
    seats: int = 0
    boards: bool = True
    checked: Checked = Checked.NOT_YET
    errors: int = 0
    sheets: int = 0
    failure: str = ""
    step: str = ""
    error: int = 0
    delivered: bool = False

    @property
    def ready(self) -> bool:
        """Whether sheets of the model as it is now can be written."""
        return self.checked is Checked.CURRENT and not self.errors and self.sheets > 0


@dataclass(frozen=True, slots=True)
class Advice:
    """What comes next: a sentence, and the button that does it: its label, icon, operator and what it is given."""

    sentence: str
    label: str
    icon: str
    operator: str
    values: tuple[tuple[str, str | int], ...] = ()


def states_of(facts: Facts) -> dict[str, State]:
    """Return how every step stands, by its name."""
    if not facts.building:
        states = dict.fromkeys(("TABLE", "BENDS", "DRESS", "STOCK", "PROOF", "CUT"), State.LATER)
        return {"PLOT": State.NEXT, **states}
    proof = {
        Checked.NOT_YET: State.NEXT,
        Checked.GOES_ON: State.NEXT,
        Checked.STALE: State.NEXT,
        Checked.FAILED: State.NEEDS_YOU,
        Checked.CURRENT: State.NEEDS_YOU if facts.errors else State.DONE,
    }[facts.checked]
    cut = State.LATER
    if facts.ready:
        cut = State.DONE if facts.delivered else State.NEXT
    return {
        "PLOT": State.DONE,
        "TABLE": State.DONE if facts.seats else State.LATER,
        "BENDS": State.DONE if facts.marked else State.LATER,
        "DRESS": State.DONE if facts.dressed else State.LATER,
        "STOCK": State.DONE if facts.boards else State.NEEDS_YOU,
        "PROOF": proof,
        "CUT": cut,
    }


def next_advice(facts: Facts) -> Advice:
    """Return the one thing to do next."""
    if not facts.building:
        return Advice("Start with a building on the squares.", "Add Building", "HOME", "stowfold.add_building")
    # a button never leads to the step that is shown already
    if not facts.boards and facts.step != "STOCK":
        return Advice("A board is not known here; choose another.", "Choose Boards", "MATERIAL", *_go("STOCK"))
    if facts.checked is Checked.FAILED and facts.step != "PROOF":
        return Advice("Nothing could be made; Proof says why.", "See Why", "CANCEL", *_go("PROOF"))
    if facts.checked is Checked.CURRENT and facts.marked and facts.errors:
        number = "1 error keeps" if facts.errors == 1 else f"{facts.errors} errors keep"
        show = ("stowfold.show_finding", (("index", facts.error),))
        return Advice(f"{number} the sheets back.", "Show What Is Wrong", "CANCEL", *show)
    if facts.step == "CUT" and facts.ready:
        return _deliver(facts)
    return Advice(_on_the_way(facts), "From Model to Sheets", "PLAY", "stowfold.model_to_sheets")


def _on_the_way(facts: Facts) -> str:
    """Return what is said beside the way from the model to its sheets."""
    if not facts.boards:
        return "A board is not known here; choose another below."
    if facts.checked is Checked.FAILED:
        return "Nothing could be made; below it says why."
    if facts.checked is Checked.GOES_ON:
        return "It is being checked as it is now."
    if facts.checked is Checked.STALE:
        return "Changed since the last check: make the sheets again."
    if facts.ready:
        return f"It folds back, on {_sheets(facts)}. Add openings, or go on."
    return "Add openings and seats, or go on." if facts.marked else "Bends and breaks will be marked for you."


def _deliver(facts: Facts) -> Advice:
    """Return what comes next where the sheets are looked at and hold."""
    if facts.delivered:
        return Advice("Cut files are written. Read the guide first.", "Open Guide", "HELP", "stowfold.open_guide")
    return Advice(f"It folds back, on {_sheets(facts)}.", "Export Cut Files", "EXPORT", "stowfold.export")


def _sheets(facts: Facts) -> str:
    return "1 sheet" if facts.sheets == 1 else f"{facts.sheets} sheets"


def _go(step: str) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Return the operator that goes to a step, and what it is given."""
    return "stowfold.go_to_step", (("step", step),)
