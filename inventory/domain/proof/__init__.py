"""Pieces: how each is tested, how far it can be trusted, where it is, and which may stand in for a suspect."""
