"""Sticks cut from lengths in stock: the cheapest, proven where that goes."""
