"""Pieces, procedures, proofs and loans over REST."""
