"""Help in plain words: what typer adds for programmers (types, braces) is left out."""

from __future__ import annotations

from typing import Any

from typer.core import TyperCommand

__all__ = ["PlainCommand"]


class PlainCommand(TyperCommand):
    """A command whose help names its arguments as a teacher types them: TAKE, not {TAKE} <str>.

    The two displays belong to typer's own arguments; a typer that has them under other names shows its own words.
    """

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for param in self.params:
            if param.param_type_name == "argument" and hasattr(param, "_usage_display_name"):
                param.display_type_rich = _nothing  # type: ignore[attr-defined]
                param._usage_display_name = _As(param)


def _nothing(ctx: Any) -> None:
    """No type is shown."""


class _As:
    """How an argument stands in the usage line."""

    def __init__(self, param: Any) -> None:
        self._name = param.metavar or (param.name or "").upper()
        self._required = param.required

    def __call__(self) -> str:
        return self._name if self._required or self._name.startswith("[") else f"[{self._name}]"
