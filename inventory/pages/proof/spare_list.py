"""The spares kept to test with: who can be trusted, who is out, whose proof runs out."""

from __future__ import annotations

from flask import render_template

from inventory.domain.proof import pieces as domain
from inventory.pages import pages
from inventory.pages.forms import CheckboxField, Form, TextField, load_query

STANDINGS = ("proved", "unproved", "lapsed", "doubtful", "failed")


class SpareFilter(Form):
    """What the list of spares is narrowed by."""

    standing = TextField()
    out = CheckboxField()
    after = TextField()


@pages.get("/spares")
def spares() -> str:
    """List the spares with their standing and where they are."""
    query = load_query(SpareFilter)
    word = query["standing"] if query["standing"] in STANDINGS else None
    page = domain.pieces(spare=True, standing=word, out=query["out"] or None, after=query["after"])
    return render_template("proof/spare_list.html", page=page, word=word, out=query["out"], words=STANDINGS)
