"""/backup: the whole bench in one file, for a program that keeps it elsewhere."""

from __future__ import annotations

from flask import Response, current_app, send_file

from inventory.api.resource import Resource
from inventory.domain.backup import backup_archive as stock
from inventory.web.access import for_role

resource = Resource("backups", "The whole bench in one file; how it is restored, the docs say.")


@resource.get("/backup")
@for_role("owner")
@resource.response(200, content="application/zip")
def backup() -> Response:
    """Take away a backup of this moment: every table, every file, the key that signs sessions."""
    name, file = stock.taken_away(current_app.config["BENCH"].data_dir)
    return send_file(file, "application/zip", as_attachment=True, download_name=name)
