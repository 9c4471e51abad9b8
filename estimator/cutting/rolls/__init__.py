"""Pieces of cloth laid on a roll."""
