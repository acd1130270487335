"""Completion in the shell: `prep completion SHELL` prints what a shell loads, `prep complete WORDS` what it asks then.

It loads neither the database library nor the commands that were not named, as a person waits for it with a finger
on the key.
"""

import sys
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any

import typer

from prep.errors import PrepError

_KINDS: dict[tuple[str, str], tuple[str, ...]] = {
    ("make", ""): ("solution",),
    ("label", ""): ("bottle",),
    ("stock", "receive"): ("substance", "solution"),
    ("stock", "list"): ("substance", "solution"),
    ("book", "add"): ("demo",),
    ("book", "move"): ("booking",),
    ("book", "cancel"): ("booking",),
    ("book", "done"): ("booking",),
    ("book", "out"): ("booking",),
    ("order", "placed"): ("substance",),
    ("order", "rule"): ("substance",),
    ("order", "arrived"): ("order",),
    ("order", "cancel"): ("order",),
    ("plan", "why"): ("booking", "bottle", "order"),
    ("substance", "show"): ("substance",),
    ("solution", "show"): ("solution",),
    ("demo", "show"): ("demo",),
    ("count", "enter"): ("bottle",),
    ("safety", "tested"): ("bottle",),
    ("safety", "notes"): ("demo",),
    ("safety", "waste"): ("demo",),
    **{
        ("stock", one): ("bottle",)
        for one in ("show", "use", "discard", "move", "correct", "quarantine", "release", "trace", "standardise")
    },
}
"""What stands after a command: the kinds of code that it takes."""
_OPTIONS = {"--at": ("place",), "--from": ("substance", "solution", "bottle"), "--made-at": ("place",)}

_SCRIPTS = {
    "bash": "_prep() { local IFS=$'\\n'; COMPREPLY=($(prep complete -- \"${COMP_WORDS[@]:1:COMP_CWORD}\")); }\n"
    "complete -o default -F _prep prep\n",
    "zsh": "#compdef prep\n"
    '_prep() { local -a found; found=("${(@f)$(prep complete -- "${(@)words[2,CURRENT]}")}"); compadd -a found; }\n'
    "compdef _prep prep\n",
    "fish": "complete -c prep -f -a '(prep complete -- (commandline -opc)[2..-1] (commandline -ct))'\n",
    "powershell": "Register-ArgumentCompleter -Native -CommandName prep -ScriptBlock {\n"
    "  param($word, $tree, $at)\n"
    "  $words = @($tree.CommandElements | Select-Object -Skip 1 | ForEach-Object { $_.ToString() })\n"
    "  if (-not $word) { $words += '' }\n"
    "  prep complete -- @words | ForEach-Object { [System.Management.Automation.CompletionResult]::new($_) }\n"
    "}\n",
}


def completion(
    shell: Annotated[str, typer.Argument(help="bash, zsh, fish or powershell.")],
) -> None:
    """Print what a shell loads to complete commands, bottle codes, solutions and demos.

    Example: prep completion bash
    """
    if shell.lower() not in _SCRIPTS:
        raise PrepError(f'"{shell[:20]}" is no shell that is known here; write {", ".join(_SCRIPTS)}.')
    sys.stdout.write(_SCRIPTS[shell.lower()])


def candidates(words: Sequence[str], commands: Sequence[str], tree: Callable[[str, str], Any]) -> list[str]:
    """List what the last of the words may become. `tree` builds a command by name, or one of its own commands."""
    *before, last = words or [""]
    if not before:
        return [name for name in commands if name.startswith(last)]
    name = before[0]
    if name not in commands:
        return []
    then = before[1] if len(before) > 1 and not before[1].startswith("-") else ""
    command = tree(name, then)
    parts = getattr(command, "commands", {})
    if last.startswith("-"):
        params = parts[then].params if then in parts else command.params
        found = [option for param in params for option in param.opts if option.startswith("--")]
    elif before[-1] in _OPTIONS:
        found = _on_file(before, _OPTIONS[before[-1]])
    elif parts and len(before) == 1:
        found = list(parts)
    else:
        found = _on_file(before, _KINDS.get((name, then if then in parts else ""), ()))
    wanted = last.casefold()
    return [one for one in found if one.casefold().startswith(wanted)]


def _on_file(words: Sequence[str], kinds: Sequence[str]) -> list[str]:
    """List the codes of these kinds in the inventory that the words name, or one's own."""
    from prep.resources import file_of, url_of
    from prep.store.day.known_words import words as known

    named = next((after for word, after in pairwise(words) if word == "--db"), None)
    file = file_of(url_of(Path(named) if named else None))
    return known(file, kinds) if file is not None and kinds else []
