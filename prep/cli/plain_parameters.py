"""Read options of plain text without the library that typer reads every option by, which is slow to load."""

from pathlib import Path
from typing import Any


class _Plain:
    """What an option that is text, or was not given, comes to; anything else is typer's to read."""

    def coerce(self, value: Any, param: Any, ctx: Any) -> Any:
        several = param.multiple or param.nargs == -1
        if value is None:
            return () if several else None
        annotation = param.type_descriptor.annotation
        if (annotation is str and isinstance(value, str)) or (annotation is bool and isinstance(value, bool)):
            return value
        if annotation is Path and isinstance(value, str) and not _checked(param.type_descriptor.parameter_info):
            return Path(value)
        if annotation == list[str] and isinstance(value, (tuple, list)) and all(isinstance(one, str) for one in value):
            return list(value)
        param._runtime_param = None
        return param.get_runtime_param().coerce(value, param=param, ctx=ctx)


def _checked(info: Any) -> bool:
    """Tell whether typer is asked to look at the file before the command does."""
    return any(getattr(info, what, False) for what in ("exists", "resolve_path", "writable", "allow_dash", "path_type"))


def lighten(command: Any) -> None:
    """Let a command and its subcommands read their plain options so; nothing changes where typer has no such step."""
    for param in command.params:
        _lighten(param)
    if (find := getattr(command, "get_help_option", None)) is not None:
        command.get_help_option = lambda ctx: _lighten(find(ctx))  # typer makes --help only when asked
    for part in getattr(command, "commands", {}).values():
        lighten(part)


def _lighten(param: Any) -> Any:
    if getattr(param, "_runtime_param", param) is None and hasattr(param, "type_descriptor"):
        param._runtime_param = _Plain()
    return param
