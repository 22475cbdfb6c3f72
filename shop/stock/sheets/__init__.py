"""Spreadsheets, in and out: what is kept, as CSV and XLSX, to be taken in from elsewhere or carried there.

columns: what each kind of sheet holds. files: what was sent, looked at from outside. text, workbook: its rows, whatever
it is. cells: what stands in one. reading: the rows once through, set down in one plain form. checking: each row against
the rules and what is kept. work: the course of an intake from file to tables. exports, writing: the way out.
"""
