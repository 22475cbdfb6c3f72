"""Spreadsheets taken in: suppliers, items, lots and past use, from CSV and XLSX files.

columns: what each kind of sheet holds. files: what was sent, looked at from outside. text, workbook: its rows, whatever
it is. cells: what stands in one. reading: the rows once through, set down in one plain form. checking: each row against
the rules and what is kept. work: the course of an intake from file to tables. templates: empty files of each kind.
"""
