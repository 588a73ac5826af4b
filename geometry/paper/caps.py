"""Caps in the guide: what is glued on the outside of a roof over lines and holes that stay open."""

from __future__ import annotations

from collections.abc import Sequence

from ..part import Part, PartKind
from .markup import bold, length, text

__all__ = ["caps_section"]


def caps_section(parts: Sequence[Part]) -> str:
    """Return the markup about caps, empty where there are none."""
    caps = [part for part in parts if part.kind is PartKind.CAP]
    if not caps:
        return ""
    items = "\n".join(
        f"<li>{bold(part.id)} ({text(part.label)}, {length(part.size[0])} × {length(part.size[1])} mm)."
        f" {text(' '.join(part.notes))}</li>"
        for part in caps
    )
    return f"""<h3>Caps</h3>
<p>Caps lie on the outside of the roof over parted lines and holes. Glue each to the one board that is named, while the
roof lies flat; the other board slips under it when the roof is folded.</p>
<ul>
{items}
</ul>"""
