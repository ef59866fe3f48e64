"""Ids in addresses: whole numbers that every database can take."""

from __future__ import annotations

from flask import Flask
from werkzeug.routing import IntegerConverter


class Key(IntegerConverter):
    """The id of something, up to 18 digits. More is no address of ours (404), and no number of SQLite's."""

    regex = r"[0-9]{1,18}"


def use_keys(app: Flask) -> None:
    """Let *app* understand ``<key:part_id>`` in addresses."""
    app.url_map.converters["key"] = Key
