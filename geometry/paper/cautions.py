"""Cautions: what can hurt people on the way from the sheet to the table.

The words state what is agreed everywhere and then hand over to those who know the machine, the
material and the place: the laser maker's manual, the supplier's safety data sheet, local rules.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CAUTIONS", "PRECEDENCE", "Caution"]


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: what it is about, and what to do."""

    about: str
    words: str


PRECEDENCE = (
    "These lines are reminders, not a safety course. The manual of your laser, the safety data sheet of your board,"
    " glue and paint, and the rules of your workshop and country come first; where they say otherwise, follow them."
)

# Laser and materials: safety pages of two university workshops (never unattended, extraction, no PVC, no ABS).
# Magnets: 16 CFR 1262 (limit of 50 kG^2 mm^2 for loose or separable small magnets) and magnetsafety.org.
# Dust, blades and glue: common practice, no source.
CAUTIONS = (
    Caution(
        "Never leave the laser alone",
        "Stay beside it for the whole cut, within reach of the stop. Lattices pack many cuts close together and"
        " heat the board; small flames can grow in seconds.",
    ),
    Caution(
        "Fire",
        "Keep the bed free of scraps, use air assist if you have it, and keep an extinguisher that suits your machine"
        " within reach. Stay for a while after the last cut, and let offcuts cool before they go into the bin.",
    ),
    Caution(
        "Fumes",
        "Smoke from wood, plywood and fibreboard is harmful, and their glues give off formaldehyde. Run the"
        " extraction during the cut and for some minutes after it; never defeat lid switches or interlocks.",
    ),
    Caution(
        "Know your board",
        "Never cut PVC, vinyl or anything that may hold chlorine: it gives off corrosive, poisonous gas. No ABS. No"
        " plastic,"
        " coating or composite that you cannot name and find on the supplier's data sheet as fit for laser cutting.",
    ),
    Caution(
        "Dust",
        "Sanding edges makes fine dust, that of fibreboard above all. Sand outside or with extraction, wear a mask"
        " made for fine dust and something over your eyes, and wipe up instead of sweeping dry.",
    ),
    Caution(
        "Blades",
        "Fit a fresh blade, cut away from your hands on a mat, and put the cap back on before you put the knife down.",
    ),
    Caution(
        "Glue and paint",
        "Read the labels: air the room, keep them off skin and eyes, and let them dry fully before the parts are"
        " boxed.",
    ),
    Caution(
        "Magnets",
        "If you add any, keep them away from children. Two swallowed magnets pull together through the gut and can"
        " kill:"
        " go to emergency care at once. Bury them in a blind pocket under a glued cover, never in a press fit alone;"
        " where children play, do without them and use tabs or friction.",
    ),
    Caution(
        "Small parts",
        "Slugs from slots, offcuts and joiners are small enough to choke on. This is a hobby model, not a toy for"
        " small children.",
    ),
)
