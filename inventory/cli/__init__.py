"""The `benchproof` command: start the service, look after people, tokens and the ledger."""

from __future__ import annotations

import sys
from dataclasses import replace

import click

from inventory.cli.alerts import alerts
from inventory.cli.backtest import backtest
from inventory.cli.backup import backup_command, restore_command
from inventory.cli.common import open_database, show_errors_as_sentences
from inventory.cli.diagnose import diagnose
from inventory.cli.labels import labels
from inventory.cli.stock_list import stock_list
from inventory.domain.common.records import ROLES
from inventory.domain.jobs import people
from inventory.settings import load_settings
from inventory.store import verify


@click.group()
@click.version_option(package_name="benchproof")
def main() -> None:
    """Stock and proved spares of an electronics repair bench."""


main.add_command(alerts)
main.add_command(backtest)
main.add_command(backup_command)
main.add_command(restore_command)
main.add_command(diagnose)
main.add_command(labels)
main.add_command(stock_list)


@main.command()
@click.option("--demo", is_flag=True, help="On an empty database, load the demo bench first.")
@show_errors_as_sentences
def serve(demo: bool) -> None:
    """Start the service and say where to open it."""
    from inventory import server

    settings = load_settings()
    server.serve(replace(settings, demo=settings.demo or demo), output=click.echo)


@main.command()
@show_errors_as_sentences
def demo() -> None:
    """Load the demo bench into an empty database."""
    from seed.load import load_demo

    open_database()
    click.echo(str(load_demo()))


@main.command("verify")
@click.option("--expect", metavar="DIGEST", help="A digest noted earlier that must occur in the chain.")
@show_errors_as_sentences
def verify_command(expect: str | None) -> None:
    """Walk the ledger's digest chain and add up every balance again. Exit 1 if anything is wrong."""
    open_database()
    report = verify.verify_ledger(expect)
    for fault in report.faults:
        click.echo(f"WRONG  {fault}")
    click.echo(f"{report.lines} lines, digest {report.digest}")
    click.echo("The ledger is sound and every balance adds up." if report.sound else "The ledger is NOT sound.")
    sys.exit(0 if report.sound else 1)


# ---- people ----------------------------------------------------------------------------------------------


@main.group()
def person() -> None:
    """People who may sign in."""


@person.command("add")
@click.argument("name")
@click.option("--role", type=click.Choice(ROLES), default="tech", show_default=True)
@click.option("--shown-as", default="", help="The name that pages show.")
@click.option("--passphrase", help="Asked for when left out; at least 10 characters.")
@show_errors_as_sentences
def person_add(name: str, role: str, shown_as: str, passphrase: str | None) -> None:
    """Add somebody who may sign in."""
    open_database()
    added = people.add_person(name, role, passphrase or _ask_passphrase(), shown_as)
    click.echo(f"{added.name} may sign in as {added.role}.")


@person.command("list")
@show_errors_as_sentences
def person_list() -> None:
    """List everybody."""
    open_database()
    for record in people.list_people():
        click.echo(f"{record.name:20} {record.role:8} {'' if record.active else 'may not sign in'}".rstrip())


@person.command("passphrase")
@click.argument("name")
@click.option("--passphrase", help="Asked for when left out; at least 10 characters.")
@show_errors_as_sentences
def person_passphrase(name: str, passphrase: str | None) -> None:
    """Give somebody a new passphrase and end their sessions."""
    open_database()
    people.set_passphrase(people.person_by_name(name).id, passphrase or _ask_passphrase())
    click.echo(f"{name} has a new passphrase; old sessions have ended.")


def _ask_passphrase() -> str:
    return str(click.prompt("Passphrase", hide_input=True, confirmation_prompt=True))


# ---- tokens ----------------------------------------------------------------------------------------------


@main.group()
def token() -> None:
    """Keys with which programs use the API."""


@token.command("add")
@click.argument("name")
@click.option("--label", default="command line", help="What the token is for.")
@show_errors_as_sentences
def token_add(name: str, label: str) -> None:
    """Make a token that acts as NAME. It is shown once."""
    open_database()
    added = people.add_token(people.person_by_name(name).id, label)
    click.echo(added.secret)


@token.command("list")
@show_errors_as_sentences
def token_list() -> None:
    """List tokens, without their secrets."""
    open_database()
    names = {person.id: person.name for person in people.list_people()}
    for record in people.tokens():
        state = f"ended {record.revoked:%Y-%m-%d}" if record.revoked else "in use"
        click.echo(f"{record.id:4}  {names[record.person_id]:20} {record.label:30} {state}")


@token.command("revoke")
@click.argument("token_id", type=int)
@show_errors_as_sentences
def token_revoke(token_id: int) -> None:
    """End a token for good."""
    open_database()
    people.revoke_token(token_id)
    click.echo("That token works no longer.")
