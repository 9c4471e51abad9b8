"""Cutting plans for sticks, boards and rolls, each with its bound, and their verification."""
