"""Progress: long work says how far it is, and learns whether it was given up."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["SILENT", "Progress"]


class Progress:
    """Told by long work how far it is. This one tells nobody and never gives the work up; a host overrides it.

    Work calls ``tell`` often, also where its share has not grown: that is how it learns that it was given up.
    """

    def tell(self, share: float) -> None:
        """Say how much is done, 0 .. 1. Raises CancelledError where the work was given up."""

    def settle(self) -> None:
        """Say that only what must not be broken off is left. Raises CancelledError where the work was given up."""

    def part(self, low: float, high: float) -> Progress:
        """Return the progress of a step that takes the work from share ``low`` to share ``high``."""
        return _Part(self, low, high)


@dataclass(frozen=True, slots=True)
class _Part(Progress):
    whole: Progress
    low: float
    high: float

    def tell(self, share: float) -> None:
        self.whole.tell(self.low + (self.high - self.low) * share)

    def settle(self) -> None:
        self.whole.settle()


#: For work that nobody waits for.
SILENT = Progress()
