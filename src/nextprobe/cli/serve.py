"""The commands that serve the bench to a browser."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nextprobe.cli.options import HomeOption
from nextprobe.errors import MisuseError

if TYPE_CHECKING:
    from nextprobe.web.settings import Settings

PORT = 8765


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(serve)
    app.command()(passphrase)


def serve(
    *,
    host: Annotated[str, typer.Option(help="Address to listen at; this machine if left out.")] = (
        "127.0.0.1"
    ),
    port: Annotated[int, typer.Option(min=0, max=65535, help="0 takes any free one.")] = PORT,
    passphrase_file: Annotated[
        Path | None, typer.Option(help="File with the hash of the passphrase.")
    ] = None,
    name: Annotated[
        list[str] | None,
        typer.Option("--name", help="Name by which other machines call this one; repeatable."),
    ] = None,
    behind_tls: Annotated[
        bool, typer.Option("--behind-tls", help="A proxy with TLS stands before it, at --name.")
    ] = False,
    show: Annotated[bool, typer.Option("--open/--no-open", help="Open a browser.")] = True,
    home: HomeOption = None,
) -> None:
    """Serve the bench to a browser on this machine, until Ctrl-C."""
    from nextprobe.web.passphrase import known_hash  # noqa: PLC0415
    from nextprobe.web.serving import listening, run  # noqa: PLC0415
    from nextprobe.web.settings import Settings  # noqa: PLC0415

    secret = known_hash(passphrase_file)
    names = frozenset(name or ())
    chosen = Settings(home, host, port, names, secret, behind_tls)  # refused before it listens
    with listening(host, port) as socket:
        settings = replace(chosen, port=socket.getsockname()[1])
        run(settings, socket, lambda: _said(settings, show))


def opened(page: str) -> None:
    """Serve the bench at any free port of this machine, and open a page of it."""
    from nextprobe.web.serving import listening, run  # noqa: PLC0415
    from nextprobe.web.settings import Settings  # noqa: PLC0415

    with listening("127.0.0.1", 0) as socket:
        settings = Settings(None, "127.0.0.1", socket.getsockname()[1])
        run(settings, socket, lambda: _said(settings, True, page))


def _said(settings: Settings, show: bool, page: str = "") -> None:
    """Say where the bench is, once it answers."""
    from nextprobe.web.serving import address  # noqa: PLC0415

    url = f"{address(settings)}{page}"
    print(f"The bench is at {url} (Ctrl-C ends it)", flush=True)
    if show:
        import webbrowser  # noqa: PLC0415

        webbrowser.open(url)


def passphrase(
    file: Annotated[Path, typer.Argument(help="File to write its hash to.")],
) -> None:
    """Set the passphrase that 'serve' asks for: typed twice, or a line on standard input."""
    from nextprobe.web.passphrase import keep_hash  # noqa: PLC0415

    if sys.stdin.isatty():
        typed = typer.prompt("Passphrase", hide_input=True, confirmation_prompt=True)
    else:
        typed = sys.stdin.readline().rstrip("\r\n")
    if not typed:
        raise MisuseError("there is no passphrase: type one")
    keep_hash(file, typed)
    print(f"serve with: nextprobe serve --host ADDRESS --passphrase-file {file}")
