"""Drawings and papers for client, supplier, shop and site."""
