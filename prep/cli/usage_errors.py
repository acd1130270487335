"""What the command line itself refuses, in one sentence of ours: which option or argument, and what it takes."""

import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

import typer

UsageError: type[Exception] = typer.BadParameter.__mro__[1]
"""What typer raises for a command line that it cannot read: the base of its bad parameters, which it does not name."""


def sentence(error: Any, arguments: Sequence[str]) -> str:
    """Write one sentence for what typer raised of these arguments."""
    path = error.ctx.command_path if error.ctx else "prep"
    see = f"see: {path} --help"
    if option := getattr(error, "option_name", ""):
        typed = next((one for one in arguments if one.startswith(option)), option)
        if re.match(r"-\s*[0-9.]", typed):
            accepted = f'an amount or a number is more than nothing, such as "{typed[1:40].strip()}"'
            return f'"{typed[:40]}" begins with a minus sign; {accepted}.'
        if hasattr(error, "possibilities"):
            near = f" (near: {', '.join(sorted(error.possibilities))})" if error.possibilities else ""
            return f"{path} has no option {option}{near}; {see}"
        return f"{option} needs a value after it; {see}"
    if param := getattr(error, "param", None):
        name = param.opts[0] if param.param_type_name == "option" else str(param.metavar or param.name).upper()
        if hasattr(error, "param_type"):
            return f"{path} needs {name}; {see}"
        for kind, accepted in (("integer", "a whole number, such as 2"), ("number", "a number, such as 2.5")):
            if kind in error.message:
                return f"{name}{_given(param.opts, arguments)} is not accepted; write {accepted}."
    if name := re.match(r"No such command '(.*?)'", error.message):
        known = error.ctx.command.list_commands(error.ctx)
        close = get_close_matches(name[1][:40].lower(), known, 1, 0.6)
        hint = f" (near: {close[0]})" if close else ""
        return f'{path} has no command "{name[1][:40]}"{hint}; it has {", ".join(known)}.'
    message = error.format_message().rstrip(".")
    named = error.ctx is not None and any("--of" in one.opts for one in error.ctx.command.params)
    if named and message.startswith("Got unexpected extra argument"):
        return f"{path}: a name goes after --of, a strength after its own option; {see}"
    return f"{path}: {message[:1].lower()}{message[1:]}; {see}"


def _given(opts: Sequence[str], arguments: Sequence[str]) -> str:
    """Find what was written after an option, as ` "1.5"`; empty where nothing was."""
    for before, after in zip(arguments, [*arguments[1:], ""], strict=True):
        if before in opts:
            return f' "{after[:40]}"'
        if before.partition("=")[0] in opts:
            return f' "{before.partition("=")[2][:40]}"'
    return ""
