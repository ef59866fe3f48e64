"""The demo bench: Harbour Street Stage & Studio Repair, an invented shop with eighteen months of history.

Everything in it is made up: people, customers, makers, suppliers, unit models. ``load.load_demo`` writes it
through the functions that the shop floor uses, at past times, so its ledger is as real as any.
"""
