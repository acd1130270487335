"""Read options of plain text and figures without the library that typer reads every option by: it is slow to load."""

import re
from pathlib import Path
from typing import Any

_FIGURES: dict[Any, re.Pattern[str]] = {int: re.compile(r"[0-9]{1,9}"), float: re.compile(r"[0-9]{1,9}(\.[0-9]{1,9})?")}
_LISTS: dict[Any, type] = {list[str]: str, list[int]: int}


class _Plain:
    """What an option that is text or a plain figure, or was not given, comes to; anything else is typer's to read."""

    def coerce(self, value: Any, param: Any, ctx: Any) -> Any:
        several = param.multiple or param.nargs == -1
        if value is None:
            return () if several else None
        kind, info = param.type_descriptor.annotation, param.type_descriptor.parameter_info
        each = _LISTS.get(kind)
        if each is None and (read := _plain(value, kind, info)) is not None:
            return read
        if each is not None and isinstance(value, (tuple, list)):
            several = [_plain(one, each, info) for one in value]
            if None not in several:
                return several
        param._runtime_param = None
        return param.get_runtime_param().coerce(value, param=param, ctx=ctx)


def _plain(value: Any, kind: Any, info: Any) -> Any:
    """Read what needs no looking into; None for anything else."""
    if kind in (str, bool, int, float) and type(value) is kind and not _looked_into(info):
        return value
    if kind in _FIGURES and isinstance(value, str) and _FIGURES[kind].fullmatch(value) and not _looked_into(info):
        return kind(value)
    if kind is Path and isinstance(value, str) and not _looked_into(info):
        return Path(value)
    return None


_LOOKS = ("exists", "resolve_path", "writable", "allow_dash", "path_type", "parser")
_LIMITS = ("min", "max")


def _looked_into(info: Any) -> bool:
    """Tell whether typer is asked to look at the file, or at the figure's size, before the command does."""
    asked = any(getattr(info, what, False) for what in _LOOKS)
    return asked or any(getattr(info, what, None) is not None for what in _LIMITS)


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
