"""What no sentence to a maker says: numbers of faces and edges, axes, points. They are named as the maker sees them."""

from __future__ import annotations

import re
from collections.abc import Iterable

_INSIDE_WORDS = re.compile(
    r"\b(?:faces?|edges?|facets?|vert(?:ex|ices)|surface) \d|\baxis\b|[-+][xyz]\b"
    r"|(?<!\d )\b[xyz] (?:= )?-?\d",
    re.IGNORECASE,
)


def inside_words(sentences: Iterable[str]) -> list[str]:
    """Return the sentences that speak of numbers, axes or points of the model instead of places."""
    return [sentence for sentence in sentences if _INSIDE_WORDS.search(sentence)]
