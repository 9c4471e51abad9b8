"""The office's workbook: written from a `Book`, recalculated by other programs, read back by key."""
