"""The command group; a complaint becomes one sentence and an exit code.

The modules of the commands are imported only when one of them runs, so that `--help` stays quick.
"""

from __future__ import annotations

import importlib
import os
import sys
import warnings
from typing import Any, Final, NoReturn

import click

from pacewright import __version__
from pacewright.exceptions import Complaint
from pacewright.files.disk import watch_inputs

COMMANDS: Final[dict[str, tuple[str, str]]] = {
    "log": ("log", "Print how a travel log is written, every remark of it; begin one."),
    "reckon": ("reckon", "Say where every station of a travel log lies, and how sure that is."),
    "back": ("back", "Say the way back: azimuth, count, what to do at the end, leg by leg if asked."),
    "adjust": ("adjust", "Spread what a log does not close by; learn the walker's figures from it."),
    "leg": ("leg", "Say the leg from one place to another by map: azimuth, own paces, cord."),
    "check": ("check", "Say whether a log closes, and which slip on which leg explains it if not."),
    "calibrate": ("calibrate", "Turn pace trials into a pace table and a walker file."),
    "fix": ("fix", "Fix your own place from known things, or a thing seen from two stations."),
    "range": ("range", "Work out a distance that cannot be walked."),
    "sun": ("sun", "Say rise, set and daylight left; check a compass by the sun."),
    "north": ("north", "Say declination and convergence, and turn azimuths between the norths."),
    "draw": ("draw", "Draw the walked figure, its regions and the way back."),
    "locate": ("locate", "Find where on a terrain a log was walked, and where you now are."),
    "plan": ("plan", "Plan legs that can be held by compass and count, with the chance of missing."),
    "sheet": ("sheet", "Print log pages, leg cards, the way back and tables: one PDF for the pocket."),
    "read": ("read", "Read pencilled log pages from photographs; what is in doubt is shown, not guessed."),
    "pocket": ("pocket", "Write one HTML file for a phone with no signal: type a row, see the way back."),
    "export": ("export", "Write stations and legs as CSV, GeoJSON, GPX or GeoPackage."),
    "course": ("course", "Set a practice course, print cards and key, grade a class."),
    "desk": ("desk", "Open the desk: the same in a browser, on this machine, with no internet."),
    "schema": ("schema", "Print what every command prints with --json: keys, types, meaning."),
    "demo": ("demo", "Run the main job on a log that comes with the tool."),
}
"""Name of a command -> its module in this room, and its line in `--help`."""

BAD_INPUT: Final = 2
CLOSED_PIPE: Final = 141
UNEXPECTED: Final = 3


class Commands(click.Group):
    """The commands by name, each imported when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names in the order of the job."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the one command that was asked for."""
        if cmd_name not in COMMANDS:
            return None
        module_name, _ = COMMANDS[cmd_name]
        module = importlib.import_module(f"pacewright.cli.{module_name}")
        command: click.Command = module.command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that was asked for; where there is none, say which may be meant."""
        if args:
            from pacewright.cli.renamed import note_old_names

            note_old_names(args)
        if not args or args[0] in COMMANDS or args[0].startswith("-"):
            return super().resolve_command(ctx, args)
        import difflib

        near = difflib.get_close_matches(args[0].lower(), COMMANDS, 1)
        meant = f"Did you mean {near[0]}?" if near else "pacewright --help lists all commands."
        raise click.UsageError(f"There is no command called {args[0][:40]}. {meant}", ctx)

    def make_context(self, *args: Any, **more: Any) -> click.Context:
        """Read the arguments, `--help` included; a reader that has gone away is no fault."""
        try:
            return super().make_context(*args, **more)
        except BrokenPipeError:
            raise click.exceptions.Exit(_leave_closed_pipe()) from None

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; a reader that goes away in the midst of it is no fault."""
        try:
            return super().invoke(ctx)
        except BrokenPipeError:
            return _leave_closed_pipe()

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table above, importing none."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="pacewright COMMAND --help tells more. A reckoned way back is an aid: keep to local rules and "
    "to what qualified instruction taught you.",
)
@click.version_option(__version__, prog_name="pacewright")
def group() -> None:
    """Travel on foot by compass and pace count: where am I, how sure is that, which way back."""


def main() -> NoReturn:
    """Run the command line; every way out is an exit code and at most one sentence."""
    _give_missing_streams()
    _let_any_name_print()
    watch_inputs()
    warnings.filterwarnings("error", message=".*overflow encountered", category=RuntimeWarning)
    try:
        code = group.main(prog_name="pacewright", standalone_mode=False)
        sys.stdout.flush()
    except Complaint as complaint:
        from pacewright.cli.output import say_complaint

        say_complaint(complaint)
        code = BAD_INPUT
    except click.ClickException as refused:
        refused.show()
        code = BAD_INPUT
    except (click.Abort, KeyboardInterrupt):
        code = _say_on_stderr("Stopped.", 130)
    except BrokenPipeError:
        code = _leave_closed_pipe()
    except OSError as refused:
        # What is read or written by name complains for itself: this is standard output.
        _leave_closed_pipe()
        code = _say_on_stderr(
            f"standard output cannot be written ({refused.strerror}). Check where it goes.", BAD_INPUT
        )
    except RuntimeWarning:
        code = _say_on_stderr(
            "A number of the input is too large or too small to reckon with. Look for a slip.",
            BAD_INPUT,
        )
    except Exception as surprise:
        if os.environ.get("PACEWRIGHT_DEBUG"):
            raise
        code = _say_on_stderr(
            f"pacewright met something it did not expect ({type(surprise).__name__}: {surprise}). "
            "This is a fault of the tool; set PACEWRIGHT_DEBUG=1 to see where, and report it.",
            UNEXPECTED,
        )
    sys.exit(code or 0)


def _give_missing_streams() -> None:
    # A caller may have closed them (`>&-`). What is then said on a stream opened for reading fails
    # as it does on a full disk, and is not lost in silence; stderr has nobody left to tell.
    if sys.stdout is None:
        sys.stdout = open(os.open(os.devnull, os.O_RDONLY), "w", encoding="utf-8")  # noqa: SIM115, PTH123
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123


def _let_any_name_print() -> None:
    # A console that cannot show a letter gets an escape instead of an exception.
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


def _say_on_stderr(sentence: str, code: int) -> int:
    click.echo(sentence, err=True)
    return code


def _leave_closed_pipe() -> int:
    # The reader has gone: what is still in the buffer must not fail again when Python shuts down.
    devnull = os.open(os.devnull, os.O_WRONLY)
    os.dup2(devnull, sys.stdout.fileno())
    return CLOSED_PIPE
