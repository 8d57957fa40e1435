"""The command line: options, words and exit codes; every heavy import stands inside the command that needs it.

Results go to standard output, everything for people to standard error. Results of ``--format json`` are one
document and nothing else.
"""

from __future__ import annotations

import os
import sys
from typing import NoReturn

import click

from reportgen import __version__
from reportgen.authoring.commands import COMMANDS
from reportgen.cli.building import batch, build, watch
from reportgen.cli.judging import check, explain, strings, verify
from reportgen.cli.revisions import diff, unpack
from reportgen.service.exit_codes import ExitCode

_CONTEXT = {"help_option_names": ["-h", "--help"], "max_content_width": 100}


def main() -> NoReturn:
    """Run the command line; a defect ends with exit code 70 and a plain word, not with a bare traceback."""
    try:
        code = cli.main(standalone_mode=False)
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message(), err=True)
        code = ExitCode.USAGE
    except click.ClickException as error:
        error.show()
        code = error.exit_code
    except click.exceptions.Exit as error:
        code = error.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted", err=True)
        code = ExitCode.INTERRUPTED
    except BrokenPipeError:
        # Whoever read the output has gone; nothing more can be said to them.
        sys.stdout = open(os.devnull, "w")  # noqa: PTH123, SIM115 - keeps the interpreter from complaining at its end
        code = ExitCode.CANNOT_READ_OR_WRITE
    except OSError as error:
        click.echo(f"error: {error.strerror or error}: {error.filename or ''}".rstrip(": "), err=True)
        code = ExitCode.CANNOT_READ_OR_WRITE
    except Exception:  # noqa: BLE001 - the last line of defence
        import traceback

        traceback.print_exc()
        click.echo("error: this is a defect in reportgen; nothing was published", err=True)
        code = ExitCode.DEFECT
    sys.exit(int(code or 0))


@click.group(context_settings=_CONTEXT, no_args_is_help=True)
@click.version_option(__version__, prog_name="reportgen")
def cli() -> None:
    """Design binders for photovoltaic restringing, from a folder of text files.

    Start with:  reportgen init barn    or read:  reportgen guide first-hour
    """


for _command in (build, watch, batch, check, strings, verify, explain, diff, unpack, *COMMANDS):
    cli.add_command(_command)
