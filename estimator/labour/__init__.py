"""Tasks, hours and days."""
