"""Words and numbers on paper: names made safe for a page, lengths as a maker reads them."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Sequence

__all__ = ["bold", "bold_list", "joined", "length", "name", "plural", "table", "text"]

# What XML cannot carry: control characters other than tab and line ends, lone surrogates, non-characters.
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


#: Tables of so many rows are not broken across pages.
_SHORT = 14


def text(words: object) -> str:
    """Return words safe to stand in a page or in a quoted attribute."""
    return html.escape(_UNPRINTABLE.sub("\ufffd", str(words)), quote=True)


def name(words: object) -> str:
    """Return a name that someone else gave, so isolated that its writing direction does not spill over."""
    return f"<bdi>{text(words)}</bdi>"


def length(value: float, decimals: int = 1) -> str:
    """Return a length in mm without needless zeros: ``101.6``, ``3``."""
    shown = f"{value:.{decimals}f}"
    if "." in shown:
        shown = shown.rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def plural(count: int, one: str, many: str | None = None) -> str:
    """Return ``1 part``, ``3 parts``."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def joined(words: Sequence[str]) -> str:
    """Return ``a``, ``a and b``, ``a, b and c``."""
    return " and ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def bold(words: object) -> str:
    """Return the name of a part, or another short word, as markup in bold."""
    return f"<b>{text(words)}</b>"


def bold_list(names: Iterable[object]) -> str:
    """Return names in bold as a list in a sentence: ``a``, ``a and b``, ``a, b and c``."""
    return joined([bold(name) for name in names])


def table(heads: Sequence[str], rows: Iterable[Sequence[str]], *, numbers: Iterable[int] = ()) -> str:
    """Return a table of cells that are markup already; columns listed in ``numbers`` align right."""
    right = frozenset(numbers)

    def cells(row: Sequence[str], tag: str) -> str:
        return "".join(
            f'<{tag} class="n">{cell}</{tag}>' if column in right else f"<{tag}>{cell}</{tag}>"
            for column, cell in enumerate(row)
        )

    body = "\n".join(f"<tr>{cells(row, 'td')}</tr>" for row in rows)
    # a short table stays on one page
    kind = ' class="short"' if body.count("<tr>") <= _SHORT else ""
    return f"<table{kind}>\n<thead><tr>{cells(heads, 'th')}</tr></thead>\n<tbody>\n{body}\n</tbody></table>"
