"""The estimate as sheets: which table stands where, what is checked, what the office fills in."""
