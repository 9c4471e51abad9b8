"""The formula-bearing workbook: written, read back and recalculated."""
