"""What stands for a value in a command's help: a word of the trade, the same for the same thing in every command."""

from typing import Any

_BY_NAME = {
    **dict.fromkeys(("at", "location", "place"), "PLACE"),
    **dict.fromkeys(("volume", "take", "dish", "full"), "VOLUME"),
    **dict.fromkeys(("amount", "pack"), "AMOUNT"),
    **dict.fromkeys(("mass", "gross", "tare"), "MASS"),
    **dict.fromkeys(("strength", "to", "from_", "source_strength", "above"), "STRENGTH"),
    **dict.fromkeys(("item", "substance"), "ITEM"),
    **dict.fromkeys(("name", "teacher", "supplier", "school"), "NAME"),
    **dict.fromkeys(("assay", "purity"), "PERCENT"),
    **dict.fromkeys(("temp", "temperature"), "DEGREES"),
    **{
        one: one.upper()
        for one in ("bottle", "code", "density", "formula", "group", "indicator", "period", "ph", "room")
    },
    **{one: one.upper() for one in ("cas", "cost", "dropper", "kind", "lot", "sheet", "url")},
}
_BY_TYPE = (("int", "NUMBER"), ("float", "NUMBER"), ("path", "FILE"))


def name_values(command: Any) -> None:
    """Name what each option and argument of a command, and of its subcommands, takes, where its own line does not.

    The library would print the types of the program's own language, and each argument twice in brackets.
    """
    for param in command.params:
        if param.param_type_name == "argument":
            _name_argument(param)
        elif param.metavar is None and not param.is_flag:
            param.metavar = _BY_NAME.get(param.name) or _by_type(param)
    for part in getattr(command, "commands", {}).values():
        name_values(part)


def _by_type(param: Any) -> str:
    kind = str(getattr(getattr(param, "type_descriptor", None), "annotation", getattr(param, "type", ""))).lower()
    return next((word for part, word in _BY_TYPE if part in kind), "TEXT")


def _name_argument(param: Any) -> None:
    several = "..." if param.nargs != 1 else ""
    name = (param.metavar or param.name).upper().removesuffix("...") + several
    usage = [name if param.required else f"[{name}]"]
    param.metavar = name
    param.display_type_rich = lambda *_, **__: ""  # the name says it
    param.get_usage_pieces = lambda *_, **__: usage
    param.make_metavar = lambda *_, **__: name
