"""Starts the service for people: first set-up, where to open it, who may sign in."""

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
from inventory.store import connection, schema
from inventory.web.largest_body import Channel

Say = Callable[[str], None]
LARGEST_BODY = 100_000_000


def serve(settings: Settings, say: Say) -> None:
    """Bring up the database, say where to open the service, and answer requests until stopped."""
    connection.bind(settings.resolved_database_url)
    connection.ready()
    schema.bring_up()
    idempotency.forget_old_keys()
    alerts.forget_old()
    if settings.demo and not people.everybody():
        _load_demo(say)
    settings = _named(replace(settings, demo=settings.demo and _is_demo()))
    _insist_on_people(settings, say)
    app = create_app(settings)
    listener = _listener(settings)
    _welcome(settings, listener.getsockname()[1], say)
    alerts.start(settings)
    backups.start(settings)
    # A body up to here is kept until the service looks at it; a larger one is thrown away as it comes, and told so.
    largest = max(LARGEST_BODY, 2 * settings.max_photo)
    server = waitress.create_server(
        app, sockets=[listener], threads=settings.threads, ident="Benchproof", max_request_body_size=largest
    )
    server.channel_class = Channel
    server.run()


def _load_demo(say: Say) -> None:
    from seed.load import load_demo

    say("Loading the demo bench (18 months of invented jobs) ...")
    load_demo()


def _is_demo() -> bool:
    from seed.load import is_demo

    return is_demo()


def _named(settings: Settings) -> Settings:
    """Call the demo bench by its invented name, unless it was given another."""
    from seed.demo_bench import BENCH_NAME

    unnamed = settings.bench_name == Settings().bench_name
    return replace(settings, bench_name=BENCH_NAME) if settings.demo and unnamed else settings


def _insist_on_people(settings: Settings, say: Say) -> None:
    """Open to the bench network only with accounts; the demo's published passphrases are changed for it."""
    if not people.everybody():
        if settings.open_to_network:
            raise BadSetting(
                "Nobody may sign in yet, so the service will not open to the network: "
                "first run `benchproof person add NAME --role owner`."
            )
        say("Nobody may sign in yet: run `benchproof person add NAME --role owner`, in this folder.")
    if settings.demo and settings.open_to_network:
        _draw_passphrases(say)


def _draw_passphrases(say: Say) -> None:
    from inventory.cli import fresh_passphrase

    say("Opened to the network, so the demo people get passphrases of their own for this run:")
    for one in people.everybody():
        drawn = fresh_passphrase()
        people.set_passphrase(one.id, drawn)
        say(f"  {one.name:10} {one.role:8} {drawn}")


def _listener(settings: Settings) -> socket.socket:
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
    listener.listen()  # from here on a browser that is opened too early waits, and is not refused
    return listener


def _welcome(settings: Settings, port: int, say: Say) -> None:
    here = f"http://{'localhost' if settings.host == '127.0.0.1' else settings.host}:{port}"
    if settings.open_to_network:
        address = f"http://{_own_address()}:{port}"
        say(f"\nBenchproof runs at {address} on the bench network. For a phone:\n\n{qr_for_terminal(address)}")
        if not settings.https:
            say("Plain http: passphrases cross the network unprotected. See docs/running.md for TLS.")
    else:
        say(f"\nBenchproof runs at {here}")
        if settings.demo:
            _say_demo_people(say)
    say("Stop it with Ctrl-C. Your data stays in " + str(settings.data_dir.resolve()))


def _say_demo_people(say: Say) -> None:
    from seed.load import DEMO_PEOPLE

    say("Sign in as (the demo's invented people):")
    for name, role, passphrase in DEMO_PEOPLE:
        say(f"  {name:10} {role:8} passphrase: {passphrase}")


def _own_address() -> str:
    """Return the address by which the network knows this machine (nothing is sent to find out)."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737: an address for documentation
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()


def qr_for_terminal(text: str) -> str:
    """Draw *text* as a QR code out of half-block characters, quiet zone included."""
    import qrcode

    code = qrcode.QRCode(border=4)
    code.add_data(text)
    drawn = io.StringIO()
    code.print_ascii(out=drawn, invert=True)
    return drawn.getvalue()
