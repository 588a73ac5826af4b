"""Reporting: one sentence for the maker where an operator cannot do its work, or cannot begin it."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar

from bpy.types import Context, Operator

from ..geometry.errors import GeometryError

__all__ = ["missing_package", "needs", "report_errors", "warn"]

_Method = TypeVar("_Method", bound=Callable[..., set[str]])


def report_errors(level: str = "ERROR") -> Callable[[_Method], _Method]:
    """Decorate a method of an operator so that it reports an error in one sentence and returns CANCELLED.

    Errors are GeometryError and, for a package that is missing, ModuleNotFoundError. level: of the report;
    WARNING where the panel of the last step must stay, so that the maker can mend a number there.
    """

    def decorate(method: Any) -> Any:
        def guarded(operator: Operator, *arguments: object) -> set[str]:
            try:
                done: set[str] = method(operator, *arguments)
            except GeometryError as error:
                operator.report({level}, str(error))
            except ModuleNotFoundError as error:
                operator.report({level}, missing_package(error))
            else:
                return done
            return {"CANCELLED"}

        # the host counts the arguments of execute and invoke when it registers a class
        def with_context(self: Operator, context: Context) -> set[str]:
            return guarded(self, context)

        def with_more(self: Operator, context: Context, more: object) -> set[str]:
            return guarded(self, context, more)

        return wraps(method)(with_context if method.__code__.co_argcount == 2 else with_more)

    return decorate


def missing_package(error: ModuleNotFoundError) -> str:
    """Return the sentence for the maker about a package that cannot be imported."""
    return f"The Python package {error.name} is missing; install Stowfold from its zip, which brings it"


def needs(operator: type[Operator], met: object, advice: str) -> bool:
    """Return whether a need of an operator is met, for its poll; where it is not, the host shows the advice."""
    if not met:
        operator.poll_message_set(advice)
    return bool(met)


def warn(operator: Operator, sentence: str) -> set[str]:
    """Report why an operator does nothing, without the window that an error opens; return CANCELLED."""
    operator.report({"WARNING"}, sentence)
    return {"CANCELLED"}
