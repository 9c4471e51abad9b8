"""The calculation language: every figure is defined once, as a cell with a value and a formula.

A `Field` is a line of like cells (a column of a table, or a row of a form). Its expression is evaluated
here in `Decimal`, which is what the engine reports, and rendered as a spreadsheet formula, which is what
the workbook holds; the two cannot drift apart. Spreadsheet programs are the independent evaluators.
"""
