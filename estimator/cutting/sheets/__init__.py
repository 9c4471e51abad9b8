"""Rectangles cut from sheets by straight cuts."""
