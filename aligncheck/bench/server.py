"""Run the page: find an address, print it with its code, serve until Ctrl-C."""

import logging
import socket
from collections.abc import Callable
from typing import TYPE_CHECKING

from aligncheck.bench.settings import Settings
from aligncheck.errors import InputError

if TYPE_CHECKING:
    import uvicorn

#: A documentation address (RFC 5737): nothing is sent to it, the system only says which way it would go.
SOMEWHERE = ("192.0.2.1", 9)
PORTS = (1, 65535)


def lan_address() -> str:
    """This computer's own address in the local network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(SOMEWHERE)
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"


def open_socket(settings: Settings) -> socket.socket:
    """The socket to serve on.

    Raises
    ------
    InputError
        ``port_taken`` or ``bad_port``.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(("0.0.0.0" if settings.lan else "127.0.0.1", settings.port))  # noqa: S104 - asked for by --lan
        listener.listen(256)
    except (OSError, OverflowError):
        listener.close()
        raise InputError("port_taken", port=settings.port) from None
    return listener


def addresses(settings: Settings, port: int) -> tuple[str, str]:
    """For the phones, and for the one who sees all places."""
    if not settings.lan:
        home = f"http://127.0.0.1:{port}/"
        return home, home + "class"
    home = f"http://{lan_address()}:{port}/"
    return f"{home}?token={settings.token}", f"{home}?token={settings.host_token}"


def code_lines(address: str) -> str:
    """The address as a QR code of block characters."""
    import io

    import segno

    text = io.StringIO()
    segno.make(address, error="m", micro=False).terminal(text, border=2, compact=True)
    return text.getvalue()


def make_server(settings: Settings) -> "uvicorn.Server":
    """The server, not yet running."""
    import uvicorn

    from aligncheck.bench.app import make_app

    # A broken form is answered; it is nothing for the studio's terminal.
    logging.getLogger("python_multipart").setLevel(logging.CRITICAL)

    config = uvicorn.Config(
        make_app(settings),
        log_level="error",
        access_log=False,
        server_header=False,
        # Whoever listens to events lets go when the desk closes.
        timeout_graceful_shutdown=3,
        timeout_keep_alive=30,
        h11_max_incomplete_event_size=32_768,
        http="h11",
        ws="none",
    )
    return uvicorn.Server(config)


def serve(settings: Settings, tell: Callable[[str], None]) -> None:
    """Serve until stopped; `tell` gets each line for the terminal."""
    listener = open_socket(settings)
    with listener:
        server = make_server(settings)
        phones, host = addresses(settings, listener.getsockname()[1])
        tell(code_lines(phones))
        tell(f"On the phone, scan the code or open:  {phones}")
        if settings.lan:
            tell(f"All places, for you alone:           {host}")
        else:
            tell("Only this computer can open it. For phones in the same network: aligncheck bench --lan")
        tell(f"Photos and pieces are kept in {settings.folder}. Ctrl-C ends it.")
        server.run(sockets=[listener])
