"""/backup: the whole bench in one file, for a program that keeps it elsewhere."""

from __future__ import annotations

from flask import Response, send_file

from inventory.api.resource import Resource
from inventory.domain.backup import backup_archive as domain
from inventory.web.access import current_settings, require_role

resource = Resource("backups", "The whole bench in one file; how it is restored, the docs say.")


@resource.get("/backup")
@require_role("owner")
@resource.response(200, content_type="application/zip")
def backup() -> Response:
    """Take away a backup of this moment: every table, every file, the key that signs sessions."""
    name, file = domain.open_download(current_settings().data_dir)
    return send_file(file, "application/zip", as_attachment=True, download_name=name)
