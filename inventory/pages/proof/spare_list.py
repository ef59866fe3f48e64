"""The spares kept to test with: who can be trusted, who is out, whose proof runs out."""

from __future__ import annotations

from flask import render_template

from inventory.domain.proof import pieces as stock
from inventory.pages import pages
from inventory.pages.forms import Form, Text, Tick, read_query

WORDS = ("proved", "unproved", "lapsed", "doubtful", "failed")


class Narrowed(Form):
    """What the list of spares is narrowed by."""

    standing = Text()
    out = Tick()
    after = Text()


@pages.get("/spares")
def spares() -> str:
    """List the spares with their standing and where they are."""
    asked = read_query(Narrowed)
    word = asked["standing"] if asked["standing"] in WORDS else None
    found = stock.pieces(spare=True, standing=word, out=asked["out"] or None, after=asked["after"])
    return render_template("proof/spare_list.html", found=found, word=word, out=asked["out"], words=WORDS)
