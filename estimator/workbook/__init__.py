"""The office's workbook: written from a `Book`, read back by key."""
