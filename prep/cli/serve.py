"""`prep serve`: the school's page, for everybody in the room."""

import errno
import gc
import os
from collections.abc import Callable
from contextlib import ExitStack
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common
from prep.errors import PrepError

if TYPE_CHECKING:
    import socket


def serve(
    host: Annotated[str, typer.Option("--host", help="The address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", help="The port to listen on.", min=1, max=65535)] = 8014,
    names: Annotated[
        list[str] | None,
        typer.Option("--name", help="Another host name under which the page is asked for."),
    ] = None,
    first: Annotated[
        str | None, typer.Option("--first", metavar="NAME", help="The first person's name. Default: your login name.")
    ] = None,
    sample: Annotated[bool, typer.Option("--sample", help="The invented school, in a throw-away inventory.")] = False,
    db: common.Db = None,
) -> None:
    """Serve the page: today, the bench, shelves, orders, bookings, the count. Stop it with Ctrl-C.

    The first start makes the first person and prints a link to come in by. On a network it belongs behind a
    reverse proxy that speaks TLS (see the README).

    Example: prep serve --sample --port 8014
    """
    try:
        import uvicorn

        from prep.web.access import links
        from prep.web.app import ServedInventory, create_app
    except ModuleNotFoundError as missing:
        if missing.name and missing.name.startswith("prep"):
            raise
        raise PrepError(
            "The page needs a few packages more; in the folder that prep was installed from: pip install '.[page]'"
        ) from None
    from prep.services.inventory import session
    from prep.services.inventory.init import sample_inventory
    from prep.services.people import openid

    provider = openid.openid_settings()
    if provider is not None and not openid.openid_installed():
        typer.echo(
            "The school's sign-in is not offered: it needs a few packages more; in the folder that prep "
            "was installed from: pip install '.[openid]'"
        )
        provider = None

    with ExitStack() as kept:
        listening = kept.enter_context(_listening(host, port))
        shown = "localhost" if host in ("127.0.0.1", "::1", "0.0.0.0") else f"[{host}]" if ":" in host else host
        at = f"http://{shown}:{port}"
        today: Callable[[], date] = common.today
        where, last = db, None
        if sample:
            made = kept.enter_context(sample_inventory())
            where, last, day = made.path, made.last, made.today
            today = partial(date, day.year, day.month, day.day)
        kept.enter_context(session.held_open(where))
        lines = links.sample_links(where, at) if sample else links.first_link(where, at, common.who(first))
        for line in lines:
            typer.echo(line)
        typer.echo(f"The page: {at}  (stop it with Ctrl-C)")
        ours = frozenset({host.lower(), *(n.lower() for n in names or ())})
        app = create_app(ServedInventory(where, today, ours, last, provider))
        gc.set_threshold(10_000, 10, 10)  # a command leaves what is over to the end of its process; this one goes on
        config = uvicorn.Config(app, host=host, port=port, log_level="warning", server_header=False)
        uvicorn.Server(config).run(sockets=[listening])


def _listening(host: str, port: int) -> "socket.socket":
    """Open the socket to serve on, before anybody is invited. Raises PrepError where it cannot be had."""
    import socket

    found = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    if os.name == "posix":  # on Windows this would share a port that another program has
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((host, port))
        found.listen(128)
    except OSError as problem:
        found.close()
        if problem.errno in (errno.EADDRINUSE, getattr(errno, "WSAEADDRINUSE", None)):
            raise PrepError(f"Port {port} is taken by another program; choose another with --port.") from None
        if problem.errno in (errno.EACCES, getattr(errno, "WSAEACCES", None)):
            raise PrepError(f"Port {port} is not for everybody to listen on; choose one above 1023.") from None
        raise PrepError(f'"{host}" is no address of this machine to listen on: {problem.strerror}.') from None
    return found
