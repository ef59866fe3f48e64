"""Starts the service: migrations, demo data, the listening socket, and what is printed about it."""

from __future__ import annotations

import io
import socket
from collections.abc import Callable
from dataclasses import replace

import waitress

from inventory.app import create_app
from inventory.background import alerts, backups
from inventory.domain.common import idempotency
from inventory.domain.jobs import people
from inventory.settings import BadSetting, Settings
from inventory.store import schema

Output = Callable[[str], None]
MAX_BODY_BYTES = 100_000_000


def serve(settings: Settings, output: Output) -> None:
    """Bring up the database, say where to open the service, and answer requests until stopped."""
    schema.open_database(settings.resolved_database_url)
    idempotency.delete_expired_keys()
    alerts.delete_old_alert_data()
    if settings.demo and not people.list_people():
        _load_demo(output)
    settings = _with_demo_name(replace(settings, demo=settings.demo and _is_demo()))
    _require_accounts(settings, output)
    app = create_app(settings)
    listener = _open_listener(settings)
    _announce(settings, listener.getsockname()[1], output)
    alerts.start_thread(settings)
    backups.start_thread(settings)
    # The service refuses a body over its own limits with a sentence; beyond this size waitress hangs up.
    largest = max(MAX_BODY_BYTES, 2 * settings.max_photo)
    server = waitress.create_server(
        app, sockets=[listener], threads=settings.threads, ident="Benchproof", max_request_body_size=largest
    )
    server.run()


def _load_demo(output: Output) -> None:
    from seed.load import load_demo

    output("Loading the demo bench (18 months of invented jobs) ...")
    load_demo()


def _is_demo() -> bool:
    from seed.load import is_demo

    return is_demo()


def _with_demo_name(settings: Settings) -> Settings:
    """Return *settings* with the demo bench's invented name, unless another is set."""
    from seed.demo_bench import BENCH_NAME

    unnamed = settings.bench_name == Settings().bench_name
    return replace(settings, bench_name=BENCH_NAME) if settings.demo and unnamed else settings


def _require_accounts(settings: Settings, output: Output) -> None:
    """Refuse to open to the network without accounts; replace the demo's published passphrases for it."""
    if not people.list_people():
        if settings.open_to_network:
            raise BadSetting(
                "Nobody may sign in yet, so the service will not open to the network: "
                "first run `benchproof person add NAME --role owner`."
            )
        output("Nobody may sign in yet: run `benchproof person add NAME --role owner`, in this folder.")
    if settings.demo and settings.open_to_network:
        _replace_demo_passphrases(output)


def _replace_demo_passphrases(output: Output) -> None:
    output("Opened to the network, so the demo people get passphrases of their own for this run:")
    for person in people.list_people():
        passphrase = people.generate_passphrase()
        people.set_passphrase(person.id, passphrase)
        output(f"  {person.name:10} {person.role:8} {passphrase}")


def _open_listener(settings: Settings) -> socket.socket:
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((settings.host, settings.port))
    except OSError as error:
        listener.close()
        raise BadSetting(
            f"Port {settings.port} on {settings.host} cannot be used ({error.strerror}): "
            "is the service running already? Choose another with PORT=8018."
        ) from None
    listener.listen()  # from here on an early request waits instead of being refused
    return listener


def _announce(settings: Settings, port: int, output: Output) -> None:
    local_address = f"http://{'localhost' if settings.host == '127.0.0.1' else settings.host}:{port}"
    if settings.open_to_network:
        address = f"http://{_network_address()}:{port}"
        output(f"\nBenchproof runs at {address} on the bench network. For a phone:\n\n{terminal_qr(address)}")
        if not settings.https:
            output("Plain http: passphrases cross the network unprotected. See docs/running.md for TLS.")
    else:
        output(f"\nBenchproof runs at {local_address}")
        if settings.demo:
            _print_demo_people(output)
    output("Stop it with Ctrl-C. Your data stays in " + str(settings.data_dir.resolve()))


def _print_demo_people(output: Output) -> None:
    from seed.load import DEMO_PEOPLE

    output("Sign in as (the demo's invented people):")
    for name, role, passphrase in DEMO_PEOPLE:
        output(f"  {name:10} {role:8} passphrase: {passphrase}")


def _network_address() -> str:
    """Return this machine's address on the network (no packet is sent to find out)."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737: an address for documentation
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()


def terminal_qr(text: str) -> str:
    """Draw *text* as a QR code out of half-block characters, quiet zone included."""
    import qrcode

    code = qrcode.QRCode(border=4)
    code.add_data(text)
    drawing = io.StringIO()
    code.print_ascii(out=drawing, invert=True)
    return drawing.getvalue()
