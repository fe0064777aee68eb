"""The commands: ``keysense hear``, ``name``, ``look`` and the rest.

Only typer is imported here and in the command modules; what a command needs it imports when it runs, so that
``keysense --help`` answers at once. `main` turns every error that is meant for people into one line and exit code 2.
"""

from __future__ import annotations

from importlib import import_module

import typer

from keysense.cli.glue import StudioDir, run
from keysense.cli.plain import PlainCommand

__all__ = ["app", "main"]

app = typer.Typer(
    name="keysense",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    invoke_without_command=True,
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 100},
)

# In the order in which a teacher meets them: (command, module); a group's module holds an `app` of its own.
_COMMANDS = (
    ("hear", "hear"),
    ("serve", "serving"),
    ("name", "naming"),
    ("drop", "naming"),
    ("split", "parting"),
    ("join", "parting"),
    ("bring", "bringing"),
    ("look", "looking"),
    ("beside", "looking"),
    ("model", "between"),
    ("overnight", "between"),
    ("manners", "between"),
    ("weeks", "weeks"),
    ("spots", "many"),
    ("sight", "many"),
    ("survey", "many"),
    ("note", "papers"),
    ("slip", "papers"),
    ("card", "papers"),
    ("export", "serving"),
    ("sound", "sounding"),
    ("practice", "practice"),
    ("gather", "gathering"),
    ("demo", "demo"),
    ("shortcut", "shortcut"),
)
_GROUPS = (("pupil", "pupils"), ("piece", "pieces"))


@app.callback()
def keysense(
    context: typer.Context,
    studio: StudioDir = None,
    version: bool = typer.Option(False, "--version", help="Say which version this is."),
) -> None:
    """Listen to a digital piano in the lesson and show what was heard: touch, shape, pulse and breath.

    Start with 'keysense hear' and let your pupil play; there is nothing to press. To see it at work without a piano,
    try 'keysense demo'. keysense never grades.
    """
    if version:
        from importlib.metadata import version as version_of

        typer.echo(f"keysense {version_of('keysense')}")
    elif context.invoked_subcommand is None:
        typer.echo(context.get_help())


def _register() -> None:
    for name, module in _COMMANDS:
        app.command(name, cls=PlainCommand)(getattr(import_module(f"keysense.cli.{module}"), name))
    for name, module in _GROUPS:
        app.add_typer(import_module(f"keysense.cli.{module}").app, name=name)


_register()


def main(words: list[str] | None = None) -> None:
    """Run one command and end the program with its exit code: 0, or 2 with one clear line on stderr."""
    raise SystemExit(run(app, words))
