"""`fairlead serve`: the server that tablets and screens talk to."""

# The standard library waits the way gevent does from here on; nothing may be imported before.
from gevent import monkey

monkey.patch_all()

import json  # noqa: E402 - see above
from pathlib import Path  # noqa: E402 - see above

import click  # noqa: E402 - see above

from web.app import Server, build_server  # noqa: E402 - see above
from web.errors import NotFoundError, RefusedError  # noqa: E402 - see above
from web.live.transport import serve  # noqa: E402 - see above
from web.pages.signing import address  # noqa: E402 - see above
from web.services.links import live_links  # noqa: E402 - see above
from web.settings import HOST, PORT, Settings  # noqa: E402 - see above


@click.command()
@click.argument("database", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--host", default=HOST, show_default=True, help="The address to listen on.")
@click.option(
    "--port",
    default=PORT,
    show_default=True,
    type=click.IntRange(0, 65_535),
    help="The port to listen on; 0 takes a free one.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the address and links as JSON lines.")
@click.option(
    "--pace",
    default=1,
    type=click.IntRange(1, 1_000),
    help="How many times faster than real the server's clock runs. For demos.",
)
def command(database: Path, *, host: str, port: int, as_json: bool, pace: int) -> None:
    """Serve the meet in DATABASE, and print a sign-in link for every person.

    Stop it with Ctrl-C: what tablets have been told is saved is saved.
    """
    if not database.exists():
        raise NotFoundError(
            f"There is no meet in {database}. Open an event in it first: fairlead open."
        )
    server = build_server(Settings(database, host, port, pace))

    def ready(chosen: int) -> None:
        here = f"http://{host}:{chosen}"
        links = _links(server, here)
        if as_json:
            click.echo(json.dumps({"address": here, "links": links}))
            return
        click.echo(f"Listening on {here}. Each person opens their own link:")
        for link in links:
            click.echo(f"  {link['role']:<12} {link['name']:<28} {link['address']}")

    try:
        serve(server.app, host, port, ready)
    except OSError as error:
        why = str(error.strerror or error).partition(":")[0]
        raise RefusedError(
            f"Fairlead cannot listen on {host}, port {port}: {why}. Choose others with --host and "
            "--port."
        ) from error
    finally:
        server.close()


def _links(server: Server, here: str) -> list[dict[str, str]]:
    """Who signs in where: one line for each link that has not been revoked."""
    names = {person.id: person.name for person in server.directory.people()}
    secret = server.directory.secret()
    return [
        {
            "role": link.role,
            "person": link.person,
            "name": names[link.person],
            "event": event.id,
            "post": link.post or "",
            "team": link.team or "",
            "address": address(secret, here, link.id),
        }
        for event in server.directory.events()
        for link in live_links(server.directory, event.id)
    ]
