"""The command line: finds the command, and turns every way it can end into an exit code.

0 done; 1 a defect of ours; 2 what was given cannot be used; 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import argparse
import contextlib
import difflib
import os
import sys
from collections.abc import Sequence
from typing import NoReturn

from unsown import __version__
from unsown.commands import backup, demo, find, rebuild, restore, rig, serve, take, terminal

COMMANDS = {
    **{"find": find, "rig": rig, "demo": demo, "serve": serve, "take": take},
    **{"backup": backup, "restore": restore, "rebuild": rebuild},
}
_ABOUT = (
    "Says which ground a towed seeder left bare, how sure that is, and what was sown twice, "
    "from a logged track, a paddock and a rig card."
)
_LIMITS = (
    "It never steers. A phone finds a missed corner, start, finish, pocket or strip; it cannot "
    "find a 30 cm miss between two runs, nor a blocked opener."
)
TRACEBACK = "UNSOWN_TRACEBACK"
#: The engine solves many small systems: threads of the linear algebra only wait for each other.
for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")


class UsageError(Exception):
    """The command line itself cannot be understood."""


class _Parser(argparse.ArgumentParser):
    """Says what is wrong on one line, as every other error does."""

    def parse(self, words: list[str]) -> argparse.Namespace:
        """The options and files of one command; a misspelt option is named first of all."""
        known = [name for action in self._actions for name in action.option_strings]
        for word in words:
            name = word.partition("=")[0]
            if word == "--":
                break
            if name.startswith("--") and name not in known:
                near = difflib.get_close_matches(name, known, n=1)
                self.error(
                    f"unknown option {name}" + (f": did you mean {near[0]}?" if near else "")
                )
        return self.parse_intermixed_args(words)

    def error(self, message: str) -> NoReturn:
        stop = "" if message.endswith("?") else "."
        raise UsageError(f"{self.prog}: {message}{stop} See {self.prog} --help")


def top_parser() -> argparse.ArgumentParser:
    """The parser of ``unsown`` itself."""
    rows = "\n".join(f"  {name:<8}{module.SUMMARY}" for name, module in COMMANDS.items())
    top = _Parser(
        prog="unsown",
        description=_ABOUT,
        epilog=f"commands:\n{rows}\n\nStart with: unsown demo\n{_LIMITS}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    top.add_argument("--version", action="version", version=f"unsown {__version__}")
    top.add_argument("command", choices=tuple(COMMANDS), help="then --help for its options")
    return top


def parser_of(name: str) -> _Parser:
    """The parser of one command."""
    module = COMMANDS[name]
    parser = _Parser(
        prog=f"unsown {name}",
        description=module.SUMMARY[0].upper() + module.SUMMARY[1:] + ".",
        epilog=module.EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    module.add_options(parser)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code."""
    words = list(sys.argv[1:] if argv is None else argv)
    try:
        code = _run(words)
        sys.stdout.flush()
    except BrokenPipeError:
        # whoever read our output has seen enough; keep Python from complaining when it closes
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        terminal.say("unsown: stopped", sys.stderr)
        return 130
    return code


def _run(words: list[str]) -> int:
    from unsown.core.errors import UnsownError  # noqa: PLC0415

    try:
        return _command(words)
    except SystemExit as ended:  # --help and --version
        return int(ended.code or 0)
    except UsageError as error:
        code, line = 2, str(error)
    except UnsownError as error:
        code, line = 2, f"unsown: {error}"
    except MemoryError:
        code, line = 2, "unsown: out of memory. Give fewer or smaller files at once."
    except BrokenPipeError:
        raise
    except Exception as error:
        if os.environ.get(TRACEBACK):
            raise
        code, line = (
            1,
            (
                "unsown: a defect in the program, not in your files "
                f"({type(error).__name__}: {error}). "
                f"Run it again with {TRACEBACK}=1 set to see where, and report that."
            ),
        )
    terminal.say(terminal.one_line(line), sys.stderr)
    return code


def _command(words: list[str]) -> int:
    if not words:
        terminal.say(top_parser().format_help().rstrip())
    elif words[0] in COMMANDS:
        return int(COMMANDS[words[0]].run(parser_of(words[0]).parse(words[1:])))
    else:
        top_parser().parse_args(words)
    return 0
