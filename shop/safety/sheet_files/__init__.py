"""Suppliers' sheets as files: what is taken, where it is kept, and what is found in it.

A file is looked at three times before a byte of it is kept: by its name and its plain bytes (first_look), then by a
reader in a process of its own (looking runs reader.py), whose time and memory the system bounds, and only then by its
words (sections, section_two), which can be missing without harm. It is kept as it came (kept): a sheet is a record.
"""
