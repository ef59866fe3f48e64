"""Lets `python -m inventory` be the `benchproof` command."""

from inventory.cli import main

main()
