"""Opening a book in the browser: the dashboard as a server of its own on this machine."""

from __future__ import annotations

import json
import os
import socket
import sys
from collections.abc import Mapping
from pathlib import Path

import click
from platformdirs import user_data_path

import core
from core.book.files import discard
from core.book.store import Book
from core.cli.frame import BOOK_VARIABLE, MONTH_VARIABLE, BookCommand, answer, book_argument, json_option
from core.days import month_days
from core.errors import BookError
from core.exchange.folder import new_from_folder

HERE = Path(core.__file__).parents[1]
APP = HERE / "dashboard" / "app.py"
SAMPLE = HERE / "sample_data" / "household"
PASSPHRASE_VARIABLE = "RILLBOOK_PASSPHRASE"  # noqa: S105 - the name of a variable, not what it holds
SAMPLE_MONTH = "2026-07"  # the sample household's story is at its fullest here
USUAL_PORT = 8501
SHORTEST = 8  # letters of a passphrase
THIS_MACHINE = ("127.0.0.1", "localhost", "::1")
NOWHERE = ("192.0.2.1", 9)  # an address of RFC 5737 that no machine has; a datagram socket sends nothing to it yet


@click.command()
@click.option("--at", "path", type=click.Path(path_type=Path), metavar="PATH", help="Where to keep the sample book.")
@click.option("--fresh", is_flag=True, help="Make it anew; what was changed in it is lost.")
@click.option("--port", type=click.IntRange(1, 65535), help="Port of the dashboard. Default: 8501, or a free one.")
@click.option("--no-browser", is_flag=True, help="Do not open a browser.")
@click.option("--no-open", is_flag=True, help="Only make the book.")
@json_option
def demo(*, path: Path | None, fresh: bool, port: int | None, no_browser: bool, no_open: bool, as_json: bool) -> None:
    """Open an invented household and look around.

    The sample book is made once, in Rillbook's own folder, and kept: whatever you try in it stays until --fresh.

    \b
    Examples:
      rillbook demo
      rillbook demo --fresh
      rillbook demo --at sample.rillbook --no-open
    """
    book = (path or user_data_path("rillbook", ensure_exists=True) / "sample.rillbook").expanduser().absolute()
    if fresh:
        if book.exists():
            Book.open(book)  # nothing but a book is ever deleted
        discard(book)
    made = not book.exists()
    if made:
        if not SAMPLE.is_dir():
            raise BookError(f"The sample household is missing from this installation: there is no folder {SAMPLE}.")
        new_from_folder(book, SAMPLE)
    if no_open:
        words = f"The sample household is {'made' if made else 'there'}: {book}. Open it: rillbook open {book}"
        answer(words, {"book": str(book), "made": made}, as_json)
        return
    click.echo(
        f"The sample household is {'made' if made else 'kept'} in {book}. "
        f"It opens at {SAMPLE_MONTH}, the month in which a valve stuck.",
        err=True,
    )
    _serve(
        book,
        port=port,
        listen="127.0.0.1",
        names=(),
        browser=not no_browser,
        as_json=as_json,
        month=SAMPLE_MONTH,
    )


@click.command("open", cls=BookCommand)
@book_argument
@click.option("--port", type=click.IntRange(1, 65535), help="Port of the dashboard. Default: 8501, or a free one.")
@click.option("--listen", default="127.0.0.1", metavar="ADDRESS", help="Let other devices in: 0.0.0.0")
@click.option("--host-name", "names", multiple=True, metavar="NAME", help="With --listen: its other name.")
@click.option("--month", metavar="MONTH", help="The month to show first, such as 2026-07. Default: the latest.")
@click.option("--no-browser", is_flag=True, help="Do not open a browser.")
@json_option
def open_(
    *,
    book: Path,
    port: int | None,
    listen: str,
    names: tuple[str, ...],
    month: str | None,
    no_browser: bool,
    as_json: bool,
) -> None:
    """Open a book in the browser.

    The dashboard runs on this machine until you press Ctrl+C, and only this machine reaches it.

    \b
    Examples:
      rillbook open garden.rillbook
      rillbook open garden.rillbook --port 8600 --no-browser
      rillbook open garden.rillbook --listen 0.0.0.0

    With --listen, whoever is on your network reaches it too. A passphrase is then asked for and must be given in
    the browser; the variable RILLBOOK_PASSPHRASE may hold it instead. It travels unencrypted: use it at home, not
    on a network you do not trust.
    """
    Book.open(book)
    if month:
        month_days(month)
    _serve(book, port=port, listen=listen, names=names, browser=not no_browser, as_json=as_json, month=month)


def _serve(
    book: Path,
    *,
    port: int | None,
    listen: str,
    names: tuple[str, ...],
    browser: bool,
    as_json: bool,
    month: str | None = None,
) -> None:
    """Become the dashboard's server. Does not return."""
    if not APP.is_file():
        raise BookError(f"The dashboard is missing from this installation: there is no file {APP}.")
    private = listen in THIS_MACHINE
    address = "127.0.0.1" if private else listen
    chosen = _free_port(address, port)
    environment = server_environment(os.environ, book)
    if month:
        environment[MONTH_VARIABLE] = month
    if not private:
        environment[PASSPHRASE_VARIABLE] = _passphrase()
    outside = "" if private else _own_address(listen)
    url = f"http://{_bracketed(address if private else outside)}:{chosen}"
    if as_json:
        click.echo(json.dumps({"book": str(book), "address": url, "port": chosen}))
    else:
        if port is None and chosen != USUAL_PORT:
            click.echo(f"Port {USUAL_PORT} is taken; {chosen} is free.")
        asked = "" if private else " Other devices are asked for the passphrase."
        click.echo(f"{book.name} is open at {url} (Ctrl+C closes it).{asked}")
    sys.stdout.flush()
    sys.stderr.flush()
    allowed = [] if private else allowed_hosts(listen, outside, names)
    command = server_command(address, chosen, allowed, browser=browser)
    os.execve(sys.executable, command, environment)  # noqa: S606 - our own interpreter, no shell between


def server_command(address: str, port: int, allowed: list[str], *, browser: bool) -> list[str]:
    """The command line of the server. Flags win over whatever variables and settings a machine has.

    ``-P`` keeps a folder ``core`` of the current directory from standing in front of ours.
    """
    command = [sys.executable, "-P", "-m", "streamlit", "run", str(APP)]
    command += [f"--server.address={address}", f"--server.port={port}"]
    command += [] if browser else ["--server.headless=true"]
    return command + [f"--server.allowedHosts={host}" for host in allowed]


def server_environment(given: Mapping[str, str], book: Path) -> dict[str, str]:
    """The variables of the server: the book, the way to ``core`` from a checkout, and no settings from outside."""
    environment = {name: value for name, value in given.items() if not name.startswith("STREAMLIT_")}
    environment[BOOK_VARIABLE] = str(book.expanduser().absolute())
    if HERE.name not in ("site-packages", "dist-packages"):
        environment["PYTHONPATH"] = os.pathsep.join([str(HERE), *filter(None, [given.get("PYTHONPATH")])])
    return environment


def allowed_hosts(listen: str, own: str, names: tuple[str, ...]) -> list[str]:
    """Names under which the dashboard answers; any other is a page of somebody else calling it in your browser."""
    machine = socket.gethostname().lower()
    hosts = ["localhost", "127.0.0.1", own, machine, f"{machine}.local", *names]
    if listen not in ("0.0.0.0", "::"):  # noqa: S104 - compared, not listened on
        hosts.append(listen)
    return list(dict.fromkeys(host for host in hosts if host))


def _free_port(address: str, wanted: int | None) -> int:
    """The port to listen on: the one wanted, or the usual one, or any that is free."""
    for port in (wanted or USUAL_PORT, 0):
        family = socket.AF_INET6 if ":" in address else socket.AF_INET
        with socket.socket(family, socket.SOCK_STREAM) as attempt:
            attempt.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                attempt.bind((address, port))
            except (OSError, UnicodeError) as error:
                if isinstance(error, PermissionError) or getattr(error, "errno", None) in _IN_USE:
                    if wanted is None:
                        continue
                    raise BookError(f"Port {wanted} is taken. Leave --port out to have a free one picked.") from error
                raise BookError(f"{address} is not an address of this machine. Expected 0.0.0.0 or its own.") from error
            return int(attempt.getsockname()[1])
    raise BookError(f"No port is free at {address}.")


_IN_USE = {48, 98, 10048}  # EADDRINUSE of macOS and BSD, Linux, Windows


def _own_address(listen: str) -> str:
    """The address other devices reach this machine at."""
    if listen not in ("0.0.0.0", "::"):  # noqa: S104
        return listen
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as outward:
        try:
            outward.connect(NOWHERE)
            return str(outward.getsockname()[0])
        except OSError:
            return socket.gethostname()


def _bracketed(address: str) -> str:
    return f"[{address}]" if ":" in address else address


def _passphrase() -> str:
    """The passphrase of the dashboard, from the variable or typed unseen; never from the command line."""
    given = os.environ.get(PASSPHRASE_VARIABLE)
    if given is None:
        given = str(
            click.prompt("Passphrase for other devices", hide_input=True, confirmation_prompt="And again", err=True)
        )
    if len(given) < SHORTEST:
        raise BookError(f"A passphrase of at least {SHORTEST} letters is needed to let other devices in.")
    return given
