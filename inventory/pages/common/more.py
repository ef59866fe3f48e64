"""Everything that is not under the thumb, one tap away."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version

from flask import current_app, render_template

from inventory.pages import pages


@pages.get("/more")
def more() -> str:
    """Show the ways to everything else."""
    has_api = any(rule.rule == "/api/" for rule in current_app.url_map.iter_rules())
    return render_template("common/more.html", version=_version(), has_api=has_api)


def _version() -> str:
    try:
        return version("benchproof")
    except PackageNotFoundError:
        return ""
