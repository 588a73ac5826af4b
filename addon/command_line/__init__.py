"""The command line: the same flow without a window.

``stowfold cut FILE.blend -o DIR``, ``stowfold check FILE.blend`` and ``stowfold coupon STOCK|FILE.blend -o DIR``;
inside Blender the same words after ``blender --command``. Exit codes: 0 done, 1 findings of severity
error, 2 cannot go on (one sentence on standard error); as a shell counts them 130 where Ctrl C and 143
where a request to end stopped the work, 141 where the reader of standard output went away. The maker's
file is only read, and no script in it is run.
"""

from __future__ import annotations

import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress

from ..geometry.errors import GeometryError
from ..streams import Stopped, fill_streams, forget_output, stoppable
from .options import parser
from .verbs import CANNOT

__all__ = ["main", "run_in_blender"]

#: 128 + 13, what a shell says of a program whose reader went away (SIGPIPE).
_NO_READER = 141


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the console script and return its exit code."""
    return _run("stowfold", sys.argv[1:] if arguments is None else arguments)


def run_in_blender(arguments: Sequence[str]) -> int:
    """Run what follows ``blender --command stowfold`` and return its exit code."""
    return _run("blender --command stowfold", arguments)


_commands: list[object] = []


def attach() -> None:
    """Make the verbs known to Blender's own command line."""
    import bpy

    _commands.append(bpy.utils.register_cli_command("stowfold", run_in_blender))


def detach() -> None:
    """Take them back."""
    import bpy

    while _commands:
        bpy.utils.unregister_cli_command(_commands.pop())


def _run(program: str, arguments: Sequence[str]) -> int:
    fill_streams()
    try:
        with stoppable():
            code = _run_verb(program, arguments)
            sys.stdout.flush()
            return code
    except GeometryError as error:
        return _refused(str(error))
    except Stopped as stopped:
        _refused("Stopped before the end; no set of files was left half-written")
        return stopped.exit_code
    except BrokenPipeError:
        forget_output()
        return _NO_READER
    except OSError as error:
        forget_output()
        name = f" '{error.filename}'" if error.filename else ""
        return _refused(f"Reading or writing{name} failed ({error.strerror or error}); see to it and try again")
    except Exception:  # a fault of ours must not look like findings, which exit code 1 means
        traceback.print_exc()
        return _refused("This is a fault of Stowfold; please report it with the lines above and your file")


def _run_verb(program: str, arguments: Sequence[str]) -> int:
    try:
        options = parser(program).parse_args(list(arguments))
    except SystemExit as stopped:  # argparse has said why, or shown the help
        return stopped.code if isinstance(stopped.code, int) else CANNOT
    code: int = options.verb(options)
    return code


def _refused(sentence: str) -> int:
    """Say on standard error why the work cannot go on; return the exit code for it."""
    with suppress(OSError):  # standard error may be closed as well
        print(f"stowfold: {sentence}", file=sys.stderr, flush=True)
    return CANNOT
