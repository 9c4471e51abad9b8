"""What the office does with a job and its workbook: edits, their effect, conflicts, what it really took."""
